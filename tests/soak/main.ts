import { soakPropagation } from "./propagation.ts";
import { soakReader } from "./reader.ts";

/** `npm run soak [-- propagation|reader]`: the long counts, of which the tests run a slice. */
const PARTS: Record<string, () => unknown> = { propagation: () => soakPropagation(), reader: () => soakReader() };
const asked = process.argv.slice(2);
for (const name of asked.length > 0 ? asked : Object.keys(PARTS))
  console.log(name, JSON.stringify(await PARTS[name]?.()));
