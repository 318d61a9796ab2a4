import type { z } from "zod";
import { type ErrorCode, HardstandError } from "../errors/index.ts";
import { fieldsAt, nearestName, schemasAt } from "./known-fields.ts";
import { unitGuess, unitMixUp } from "./unit-hints.ts";

/** One thing wrong with a document. */
export interface Problem {
  code: ErrorCode;
  /** Path in the document, as `unit.services[0].txPowerDbm`; empty at its root. */
  path: string;
  message: string;
  received: unknown;
  hint: string;
}

/** A path as people read it. */
export function pathText(path: readonly PropertyKey[]): string {
  let text = "";
  for (const key of path) text += typeof key === "number" ? `[${key}]` : text === "" ? String(key) : `.${String(key)}`;
  return text;
}

const valueAt = (root: unknown, path: readonly PropertyKey[]): unknown =>
  path.reduce<unknown>((v, k) => (typeof v === "object" && v !== null ? (v as never)[k as never] : undefined), root);

const kindOf = (value: unknown): string =>
  value === null
    ? "null"
    : Array.isArray(value)
      ? "a list"
      : typeof value === "object"
        ? "an object"
        : `a ${typeof value}`;

const KIND_WORDS: Record<string, string> = {
  string: "a text",
  number: "a number",
  int: "a whole number",
  boolean: "true or false",
  array: "a list",
  object: "an object",
  tuple: "a list",
};
const list = (values: readonly unknown[]): string => values.map((v) => JSON.stringify(v)).join(", ");

/** Words for issues whose schema has none of its own; passed to every parse. */
export const issueWords: z.core.$ZodErrorMap = (issue) => {
  switch (issue.code) {
    case "invalid_type":
      return issue.input === undefined
        ? `a value is missing (${KIND_WORDS[issue.expected] ?? issue.expected})`
        : `${KIND_WORDS[issue.expected] ?? issue.expected} is expected here, not ${kindOf(issue.input)}`;
    case "invalid_value":
      return issue.input === undefined
        ? `a value is missing (one of ${list(issue.values)})`
        : `the value must be one of ${list(issue.values)}`;
    case "invalid_union":
      return "none of the forms allowed here fits";
    case "too_small":
      return `too few or too small: at least ${issue.minimum} ${issue.origin === "array" ? "entries" : ""}`.trim();
    case "too_big":
      return `too many or too large: at most ${issue.maximum} ${issue.origin === "array" ? "entries" : ""}`.trim();
    case "invalid_format":
      return `the text does not have the form asked for here (${issue.format})`;
    case "unrecognized_keys":
      return `unknown field ${list(issue.keys)}`;
    default:
      return "the value is not allowed here";
  }
};

type Issue = z.core.$ZodIssue;

/** How badly an alternative of a union misses: the wrong kind of value first, then the wrong `type` or `kind`, then by count. */
function misfit(issues: readonly Issue[]): number {
  let score = issues.length;
  for (const i of issues) {
    if (i.path.length === 0 && i.code === "invalid_type") score += 1000;
    const last = i.path[i.path.length - 1];
    if (i.code === "invalid_value" && (last === "type" || last === "kind")) score += 100;
  }
  return score;
}

/** Issues with unions replaced by those of the alternative that was meant. */
function flatten(issues: readonly Issue[], base: readonly PropertyKey[]): { issue: Issue; path: PropertyKey[] }[] {
  return issues.flatMap((issue) => {
    const path = [...base, ...issue.path];
    if (issue.code !== "invalid_union" || issue.errors.length === 0) return [{ issue, path }];
    const sorted = [...issue.errors].sort((a, b) => misfit(a) - misfit(b));
    return flatten(sorted[0]!, path);
  });
}

function unknownField(schema: z.ZodType, root: unknown, path: PropertyKey[], key: string): Problem {
  const known = fieldsAt(schema, path, root);
  const value = valueAt(root, [...path, key]);
  const mixUp = unitMixUp(key, value, known);
  const near = mixUp?.field ?? nearestName(key, known);
  const hint =
    mixUp?.advice ?? (near === null ? `known here: ${known.join(", ")}` : `the nearest known field is "${near}"`);
  return {
    code: "plan.unknown-field",
    path: pathText([...path, key]),
    message: `there is no field "${key}" here`,
    received: value,
    hint,
  };
}

function rangeHint(schema: z.ZodType, root: unknown, path: PropertyKey[]): string {
  const value = valueAt(root, path);
  for (const s of schemasAt(schema, path, root)) {
    const meta = s.meta() as { unit?: string } | undefined;
    const { minValue, maxValue } = s as unknown as { minValue?: number | null; maxValue?: number | null };
    if (typeof minValue !== "number" || typeof maxValue !== "number") continue;
    if (typeof meta?.unit !== "string") return `allowed: ${minValue} to ${maxValue}`;
    const guess = typeof value === "number" ? unitGuess(value, meta.unit, minValue, maxValue) : "";
    return `allowed: ${minValue} to ${maxValue} ${meta.unit}${guess === "" ? "" : `; ${guess}`}`;
  }
  return "";
}

/**
 * What a schema finds wrong with a document, in words with the place and the value.
 * Unknown fields come first: a misspelt field also shows as a missing one.
 */
export function problemsOf(schema: z.ZodType, root: unknown, issues: readonly Issue[]): Problem[] {
  const flat = flatten(issues, []);
  const unknown = flat.flatMap(({ issue, path }) =>
    issue.code === "unrecognized_keys" ? issue.keys.map((k) => unknownField(schema, root, path, k)) : [],
  );
  const rest = flat
    .filter(({ issue }) => issue.code !== "unrecognized_keys")
    .map(({ issue, path }): Problem => {
      return {
        code: "plan.invalid",
        path: pathText(path),
        message: issue.message,
        received: valueAt(root, path),
        hint: rangeHint(schema, root, path),
      };
    });
  return [...unknown, ...rest];
}

/** The first problem as an error, saying how many more there are. */
export function throwProblems(problems: readonly Problem[], file: string, code?: ErrorCode): never {
  const [first, ...more] = problems;
  const hint = [
    first!.hint,
    more.length === 0
      ? ""
      : `${more.length} more after this one: ${more
          .slice(0, 3)
          .map((p) => p.path)
          .join(", ")}`,
  ]
    .filter((t) => t !== "")
    .join("; ");
  throw new HardstandError(code ?? first!.code, first!.message, {
    where: first!.path === "" ? file : `${file}: ${first!.path}`,
    received: first!.received,
    hint,
  });
}
