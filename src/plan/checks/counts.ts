import { HardstandError } from "../../errors/index.ts";
import type { LoadedPlan } from "../types.ts";
import { collectionsOf, polygonsOf, positionsOf } from "./context.ts";

/** Most positions in one collection: more is a country, not a plan. */
const MAX_POSITIONS = 1_000_000;
/** Most points, areas and routes to serve: each costs a sweep. */
const MAX_POINTS = 2000;
/** Most buildings: their index in the grid has 16 bits. */
const MAX_BUILDINGS = 65_000;

/** Refuses plans with nothing to serve, nowhere to stand, or more than a run can hold. */
export function checkCounts(loaded: LoadedPlan, planFile: string): void {
  for (const at of collectionsOf(loaded, planFile)) {
    let positions = 0;
    for (const f of at.features) positions += positionsOf(f.geometry).length;
    const most = at.kind === "points" ? MAX_POINTS : at.kind === "buildings" ? MAX_BUILDINGS : Number.POSITIVE_INFINITY;
    if (positions > MAX_POSITIONS || at.features.length > most)
      throw new HardstandError("plan.too-large", `the ${at.kind} are too many`, {
        where: at.path === "" ? at.file : `${at.file}: ${at.path}`,
        received: `${at.features.length} features with ${positions} positions`,
        hint: `at most ${Number.isFinite(most) ? `${most} features and ` : ""}${MAX_POSITIONS} positions; keep what lies near the plan, or simplify`,
      });
  }
  if (loaded.points.features.length === 0)
    throw new HardstandError("plan.invalid", "the plan has no point to serve", {
      where: `${planFile}: points`,
      received: "0 features",
      hint: "add at least one point, route or area with a rung and a need",
    });
  const parking = loaded.parking.features;
  if (!parking.some((f) => f.geometry.type === "Point" || polygonsOf(f.geometry as never).length > 0))
    throw new HardstandError("plan.no-parking", "the plan names no ground where the unit may stand", {
      where: `${planFile}: parking`,
      received: `${parking.length} features`,
      hint: "draw at least one parking polygon, or name a spot as a point",
    });
}
