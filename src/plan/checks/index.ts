import type { LoadedPlan } from "../types.ts";
import { checkCoordinates } from "./coordinates.ts";
import { checkCounts } from "./counts.ts";
import { checkGeometry } from "./geometry.ts";
import { checkIds } from "./ids.ts";
import { checkReferences } from "./references.ts";

export { type Bounds, checkCoordinates, roughKm } from "./coordinates.ts";

/**
 * Every check of a loaded plan that needs no raster: counts, ids, references, geometry, coordinates.
 * @param planFile  name of the plan's file, for messages
 * @returns warnings; throws HardstandError at the first thing that stops a run
 */
export function checkPlan(loaded: LoadedPlan, planFile: string): { code: string; text: string }[] {
  checkCounts(loaded, planFile);
  checkIds(loaded, planFile);
  const outlines = checkGeometry(loaded, planFile);
  checkCoordinates(loaded, planFile);
  return [...outlines, ...checkReferences(loaded, planFile)];
}
