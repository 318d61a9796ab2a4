import { HardstandError } from "../errors/index.ts";
import { PLAN_FORMAT, PLAN_VERSION } from "./schema/plan.ts";

type Document = Record<string, unknown>;

/** Step from version n to n + 1. Empty while version 1 is the only one; a new version adds its row here. */
const STEPS: Record<number, (document: Document) => Document> = {};

/**
 * Brings a plan document up to the current version.
 * @param document  the parsed JSON, any version
 * @param file      where it comes from, for messages
 * @returns the document in the current version (the same object when nothing was to do)
 * Throws plan.invalid for another format, plan.version for a version that has no way here.
 */
export function migratePlan(document: Document, file: string): Document {
  if (document.format !== PLAN_FORMAT)
    throw new HardstandError("plan.invalid", `this is no plan: "format" must be "${PLAN_FORMAT}"`, {
      where: `${file}: format`,
      received: document.format ?? "nothing",
      hint: `a plan document starts with {"format": "${PLAN_FORMAT}", "version": ${PLAN_VERSION}, …}`,
    });
  const version = document.version;
  if (typeof version !== "number" || !Number.isInteger(version) || version < 1 || version > PLAN_VERSION)
    throw new HardstandError("plan.version", `the plan's version is not one this program reads`, {
      where: `${file}: version`,
      received: version ?? "nothing",
      hint:
        typeof version === "number" && version > PLAN_VERSION
          ? `it reads up to ${PLAN_VERSION}; the plan was written by a newer one`
          : `write "version": ${PLAN_VERSION}`,
    });
  let current = document;
  for (let v = version; v < PLAN_VERSION; v++) current = { ...STEPS[v]!(current), version: v + 1 };
  return current;
}
