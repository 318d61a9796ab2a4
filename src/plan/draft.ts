import { z } from "zod";
import { HardstandError } from "../errors/index.ts";
import { PLAN_FORMAT, PLAN_VERSION, planSchema } from "./schema/plan.ts";
import { terrainSchema } from "./schema/terrain.ts";

/**
 * A plan as it may be kept while somebody is still working on it: everything a plan must be, except that it may name no
 * raster yet. It cannot be run in that state.
 */
export const draftPlanSchema = planSchema.extend({ terrain: z.strictObject(terrainSchema.shape) });
export type DraftPlan = z.infer<typeof draftPlanSchema>;

/** True when the plan names at least one raster, so that it can be loaded and run. */
export function namesGround(plan: DraftPlan): boolean {
  return (plan.terrain.ground?.length ?? 0) + (plan.terrain.surface?.length ?? 0) > 0;
}

function pathText(path: readonly PropertyKey[]): string {
  return path.map((p, i) => (typeof p === "number" ? `[${p}]` : `${i > 0 ? "." : ""}${String(p)}`)).join("");
}

function valueAt(document: unknown, path: readonly PropertyKey[]): unknown {
  let at = document;
  for (const key of path) {
    if (at === null || typeof at !== "object") return undefined;
    at = (at as Record<PropertyKey, unknown>)[key];
  }
  return at;
}

/** The deepest issue inside a union: "points is neither a file nor features" tells nobody which field is wrong. */
function deepest(issue: z.core.$ZodIssue): z.core.$ZodIssue {
  if (issue.code !== "invalid_union" || issue.errors.length === 0) return issue;
  let best: z.core.$ZodIssue | null = null;
  for (const branch of issue.errors)
    for (const inner of branch) {
      const found = deepest({ ...inner, path: [...issue.path, ...inner.path] });
      if (best === null || found.path.length > best.path.length) best = found;
    }
  return best ?? issue;
}

/** Turns what zod found into one error of ours: path in the document, value received, what is allowed. */
export function schemaError(error: z.ZodError, document: unknown, what: string): HardstandError {
  const issue = deepest(error.issues[0]!);
  const more = error.issues.length > 1 ? ` (and ${error.issues.length - 1} more)` : "";
  const where = pathText(issue.path);
  if (issue.code === "unrecognized_keys")
    return new HardstandError("plan.unknown-field", `${what} has a field that is not known: ${issue.keys.join(", ")}`, {
      where: where === "" ? issue.keys[0]! : `${where}.${issue.keys[0]}`,
      hint: "take it out, or check its spelling and unit",
    });
  if (where === "version")
    return new HardstandError("plan.version", issue.message, { where, received: valueAt(document, issue.path) });
  return new HardstandError("plan.invalid", `${issue.message}${more}`, {
    where,
    received: valueAt(document, issue.path),
    hint: "correct the value and save again",
  });
}

/**
 * Checks a document as a draft plan.
 * @param document  parsed JSON
 * @returns the same document, typed
 * @throws plan.unknown-field, plan.version or plan.invalid with the path in the plan
 */
export function parseDraft(document: unknown): DraftPlan {
  const found = draftPlanSchema.safeParse(document);
  if (!found.success) throw schemaError(found.error, document, "the plan");
  return found.data;
}

/**
 * A plan with nothing in it but a unit and a phone, for somebody who starts from nothing.
 * The unit's values are those of the example in the manual; every one can be changed.
 */
export function emptyPlan(name: string): DraftPlan {
  return {
    format: PLAN_FORMAT,
    version: PLAN_VERSION,
    name,
    terrain: {},
    unit: {
      tipHeightM: 6,
      footprintM: [10, 10],
      maxSlopeDeg: 5,
      fuelL: 24,
      burnLPerH: 0.5,
      services: [
        {
          id: "cell",
          kind: "lte",
          downlinkMHz: 763,
          uplinkMHz: 793,
          channelMHz: 10,
          txPowerDbm: 36,
          cableLossDb: 1.5,
          noiseFigureDb: 4,
          antenna: { pattern: "omni", gainDbi: 9 },
          needs: [{ id: "talk", name: "voice and text", rsrpDbm: -115, downlinkMbps: 0.1, uplinkMbps: 0.1 }],
        },
      ],
      dish: { diameterM: 0.9, eyeHeightM: 1.6, minElevationDeg: 10, marginDeg: 5, treeMarginDeg: 10 },
    },
    terminals: [
      { id: "phone", name: "phone in hand", powerDbm: 23, gainDbi: -1, noiseFigureDb: 9, bodyLossDb: 3, heightM: 1.5 },
    ],
    points: { type: "FeatureCollection", features: [] },
    parking: { type: "FeatureCollection", features: [] },
  };
}
