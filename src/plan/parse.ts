import { z } from "zod";
import { HardstandError } from "../errors/index.ts";
import { parseJson } from "./budget.ts";
import { migratePlan } from "./migrate.ts";
import { issueWords, type Problem, problemsOf, throwProblems } from "./problems.ts";
import { PLAN_VERSION, planSchema } from "./schema/plan.ts";
import type { Plan } from "./types.ts";

/**
 * Reads a plan document.
 * @param text   the JSON text
 * @param where  file name, for messages
 * @returns the plan as written, brought up to the current version; names of files not yet resolved, defaults not filled
 * Throws HardstandError (plan.not-json, plan.version, plan.unknown-field, plan.invalid, plan.too-large) whose `where`
 * is the file and the path in the plan, with the value received and what is allowed.
 */
export function parsePlan(text: string, where: string): Plan {
  const raw = parseJson(text, where);
  if (typeof raw !== "object" || raw === null || Array.isArray(raw))
    throw new HardstandError("plan.invalid", "a plan is one JSON object", {
      where,
      received: raw,
      hint: "see the published JSON Schema",
    });
  const document = migratePlan(raw as Record<string, unknown>, where);
  const result = planSchema.safeParse(document, { error: issueWords });
  if (!result.success) throwProblems(problemsOf(planSchema, document, result.error.issues), where);
  return result.data;
}

/** Everything wrong with a document's shape at once, for an editor; empty when it is a plan. */
export function planProblems(document: unknown): Problem[] {
  const result = planSchema.safeParse(document, { error: issueWords });
  return result.success ? [] : problemsOf(planSchema, document, result.error.issues);
}

const flatList = (value: unknown[]): boolean => value.every((v) => typeof v !== "object" || v === null);

function write(value: unknown, indent: string): string {
  if (typeof value !== "object" || value === null) return JSON.stringify(value) ?? "null";
  const inner = `${indent}  `;
  if (Array.isArray(value)) {
    // Positions stay on one line each: a plan is read and compared by people.
    if (flatList(value)) return `[${value.map((v) => JSON.stringify(v) ?? "null").join(", ")}]`;
    return `[\n${value.map((v) => inner + write(v, inner)).join(",\n")}\n${indent}]`;
  }
  const entries = Object.entries(value).filter(([, v]) => v !== undefined);
  if (entries.length === 0) return "{}";
  return `{\n${entries.map(([k, v]) => `${inner}${JSON.stringify(k)}: ${write(v, inner)}`).join(",\n")}\n${indent}}`;
}

/** A plan as text: two blanks of indent, positions on one line, fields in their order, newline at the end. */
export function serializePlan(plan: Plan): string {
  return `${write(plan, "")}\n`;
}

/** The published JSON Schema (draft 2020-12) of the plan document. */
export function planJsonSchema(): Record<string, unknown> {
  const schema = z.toJSONSchema(planSchema, { target: "draft-2020-12", io: "input", unrepresentable: "any" });
  return {
    ...schema,
    $id: `urn:hardstand:plan:${PLAN_VERSION}`,
    title: "Hardstand plan",
    description:
      "Where a unit may stand, whom it must serve, and what the ground is like. Every number's name bears its unit.",
  };
}
