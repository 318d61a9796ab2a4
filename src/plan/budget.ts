import { HardstandError } from "../errors/index.ts";

/** Most characters of a plan document or GeoJSON file. */
export const MAX_TEXT = 64 * 1024 * 1024;
/** Most values (numbers, texts, lists, objects) of one document. */
export const MAX_VALUES = 4_000_000;
/** Deepest nesting; GeoJSON needs eight. */
export const MAX_DEPTH = 40;

/** Reads JSON with the place of the fault in the message. Refuses what is too long, too deep or too many. */
export function parseJson(text: string, file: string): unknown {
  if (text.length > MAX_TEXT)
    throw new HardstandError("plan.too-large", `the file has ${text.length} characters`, {
      where: file,
      hint: `at most ${MAX_TEXT}; split or simplify the geometry`,
    });
  let value: unknown;
  try {
    value = JSON.parse(text.charCodeAt(0) === 0xfeff ? text.slice(1) : text);
  } catch (thrown) {
    const message = thrown instanceof Error ? thrown.message : String(thrown);
    const at = /position (\d+)/.exec(message);
    const before = at === null ? "" : text.slice(0, Number(at[1]));
    const line = before.split("\n").length;
    const column = before.length - before.lastIndexOf("\n");
    throw new HardstandError("plan.not-json", "the file is not JSON", {
      where: at === null ? file : `${file}: line ${line}, column ${column}`,
      received: at === null ? text.slice(0, 40) : text.slice(Math.max(0, before.length - 20), before.length + 20),
      hint: /^\s*</.test(text) ? "this looks like a web page or XML" : message,
    });
  }
  weigh(value, file);
  return value;
}

/** Counts without recursion, so that a hostile depth cannot exhaust the stack. */
function weigh(root: unknown, file: string): void {
  const stack: { value: unknown; depth: number }[] = [{ value: root, depth: 0 }];
  let count = 0;
  while (stack.length > 0) {
    const { value, depth } = stack.pop()!;
    if (typeof value !== "object" || value === null) continue;
    if (depth > MAX_DEPTH)
      throw new HardstandError("plan.too-large", `the document is nested more than ${MAX_DEPTH} deep`, {
        where: file,
        hint: "a plan needs no more than a dozen levels",
      });
    const members = Array.isArray(value) ? value : Object.values(value);
    count += members.length;
    if (count > MAX_VALUES)
      throw new HardstandError("plan.too-large", `the document holds more than ${MAX_VALUES} values`, {
        where: file,
        hint: "simplify the geometry or keep only what lies near the plan",
      });
    for (const m of members) if (typeof m === "object" && m !== null) stack.push({ value: m, depth: depth + 1 });
  }
}
