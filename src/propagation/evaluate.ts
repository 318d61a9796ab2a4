import { HardstandError } from "../errors/index.ts";
import { refuse } from "./cases/input.ts";
import { MODELS } from "./registry.ts";
import { type LossCase, type LossResult, lossCaseSchema, type ModelEntry } from "./types.ts";

/** The registry's row of a model, or null. */
export function findModel(id: string): ModelEntry | null {
  return MODELS.find((m) => m.id === id) ?? null;
}

/**
 * Loss of one case by the model it names.
 * @param input a case as the `loss` command takes it; checked here, so plain JSON may be passed
 * @returns loss in dB (positive), the Recommendation's own terms, and warnings where the model is used outside its stated range
 * Throws `model.unknown` for a model that has no loss over a case, `model.input` for a case that cannot be computed.
 */
export function evaluateLoss(input: LossCase): LossResult {
  const id: unknown = (input as { model?: unknown } | null)?.model;
  const entry = typeof id === "string" ? findModel(id) : null;
  if (entry?.evaluate === undefined)
    throw new HardstandError(
      "model.unknown",
      typeof id === "string" ? `no loss model is called ${id}` : "the case names no model",
      {
        where: "model",
        received: id ?? null,
        hint: `one of ${MODELS.filter((m) => m.evaluate !== undefined)
          .map((m) => m.id)
          .join(", ")}`,
      },
    );
  const parsed = lossCaseSchema.safeParse(input);
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!;
    const path = issue.path
      .map((p, i) => (typeof p === "number" ? `[${p}]` : i === 0 ? String(p) : `.${String(p)}`))
      .join("");
    if (issue.code === "unrecognized_keys")
      refuse(
        `the case has a field that is not known: ${issue.keys.join(", ")}`,
        issue.keys[0]!,
        null,
        `known fields: ${Object.keys(lossCaseSchema.shape).join(", ")}`,
      );
    const value = valueAt(input, issue.path);
    refuse(sentence(path, value, issue), path, value, allowed(issue));
  }
  const result = entry.evaluate(parsed.data);
  if (!Number.isFinite(result.lossDb))
    refuse(
      `${entry.id} has no value for this case`,
      "",
      null,
      "check frequency, heights and distances against the model's stated range",
    );
  return result;
}

function valueAt(input: unknown, path: readonly PropertyKey[]): unknown {
  let value = input;
  for (const key of path) value = (value as Record<PropertyKey, unknown> | null | undefined)?.[key];
  return typeof value === "number" ? String(value) : value;
}

interface Issue {
  code: string;
  expected?: unknown;
  minimum?: unknown;
  maximum?: unknown;
  values?: unknown;
}

function sentence(path: string, value: unknown, issue: Issue): string {
  if (value === undefined) return `${path} is missing`;
  if (issue.code === "too_small") return `${path} is too small or too short`;
  if (issue.code === "too_big") return `${path} is too large or too long`;
  if (issue.code === "invalid_type") return `${path} is not a ${String(issue.expected)}`;
  return `${path} has a value that is not known`;
}

function allowed(issue: Issue): string {
  if (issue.minimum !== undefined) return `give at least ${String(issue.minimum)}`;
  if (issue.maximum !== undefined) return `give at most ${String(issue.maximum)}`;
  if (Array.isArray(issue.values)) return `one of ${issue.values.join(", ")}`;
  if (issue.expected !== undefined) return `give a ${String(issue.expected)}`;
  return "compare with the case fields in the documentation of `loss`";
}
