import { soakPropagation } from "./propagation.ts";

/** `npm run soak`: the long counts, of which the tests run a slice. */
console.log(JSON.stringify(soakPropagation()));
