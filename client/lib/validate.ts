import "./no-eval.ts";
import type { z } from "zod";
import {
  donorProperties,
  dropProperties,
  hazardProperties,
  parkingProperties,
  pointProperties,
} from "../../src/plan/schema/features.ts";
import { planSchema } from "../../src/plan/schema/plan.ts";
import { dishSchema, unitSchema } from "../../src/plan/schema/unit.ts";

/** One field's value against the one schema; a message in words, or nothing when it is right. */
const SHAPES: Record<string, Record<string, z.ZodType>> = {
  points: pointProperties.shape,
  parking: parkingProperties.shape,
  drops: dropProperties.shape,
  donors: donorProperties.shape,
  unit: unitSchema.shape,
  dish: dishSchema.shape,
};
function hazardField(kind: string, key: string): z.ZodType | undefined {
  for (const option of hazardProperties.options) {
    const shape = option.shape as Record<string, z.ZodType>;
    if (shape.kind?.safeParse(kind).success) return shape[key];
  }
  return undefined;
}
export function fieldProblem(where: string, key: string, value: unknown, hazardKind = ""): string {
  const type = where === "hazards" ? hazardField(hazardKind, key) : SHAPES[where]?.[key];
  if (type === undefined || value === undefined) return "";
  const found = type.safeParse(value);
  if (found.success) return "";
  const message = found.error.issues[0]?.message ?? "This value does not fit.";
  return `${message.charAt(0).toUpperCase()}${message.slice(1)}.`;
}
/** Everything wrong with the plan as a whole, each with its path. */
export function planProblems(plan: unknown): string[] {
  const found = planSchema.safeParse(plan);
  if (found.success) return [];
  return found.error.issues.slice(0, 20).map((i) => `${i.path.join(".")}: ${i.message}`);
}
