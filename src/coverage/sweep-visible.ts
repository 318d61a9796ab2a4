import { cancelled } from "../errors/index.ts";
import { lastMaskedSteps, planRays, type RayPlan, raySteps } from "./rays.ts";
import { checkSweep } from "./sweep-loss.ts";
import { DEFAULT_EFFECTIVE_RADIUS_KM, type SweepHooks, type SweepTerrain } from "./types.ts";
import { NOT_EVALUATED, VISIBILITY_UNKNOWN, VISIBLE, visibleRay } from "./visible-ray.kernel.ts";

export { HIDDEN, NOT_EVALUATED, VISIBILITY_UNKNOWN, VISIBLE } from "./visible-ray.kernel.ts";

/** Rays per cell at a sector's rim for visibility. */
const VISIBLE_RAY_DENSITY = 1.5;

export interface VisibleJob {
  /** Whole-number cell of the eye. */
  col: number;
  row: number;
  eyeAmslM: number;
  /** Height above ground that is looked at in every cell. */
  targetHeightM: number;
  /** k·6371 km; 4/3 when left out. */
  effectiveRadiusKm?: number;
  maxRangeM: number;
  mask: Uint8Array | null;
  rayDensity?: number;
}

/** How many rays a visibility sweep has; work is shared out in ranges of them. */
export function countVisibleRays(terrain: SweepTerrain, job: VisibleJob): number {
  return planFor(terrain, job).rayCount;
}

function planFor(terrain: SweepTerrain, job: VisibleJob): RayPlan {
  return planRays(terrain, job, job.rayDensity ?? VISIBLE_RAY_DENSITY);
}

/**
 * Visible or not, for every cell around an eye: 1 visible, 0 hidden, 2 unknown (a void on the way or under the cell and
 * nothing known hides it), 255 not evaluated. Obstacles in the eye's cell and in the cell looked at do not hide it.
 * @param out one value per cell
 * Throws model.input for an eye off the grid or arrays of another size, run.cancelled when told to stop.
 */
export function sweepVisible(terrain: SweepTerrain, job: VisibleJob, out: Uint8Array, hooks: SweepHooks = {}): void {
  checkSweep(terrain, job, out.length);
  const plan = planFor(terrain, job);
  if (hooks.rayFrom === undefined && hooks.rayTo === undefined) out.fill(NOT_EVALUATED);
  const rayFrom = hooks.rayFrom ?? 0;
  const rayTo = Math.min(hooks.rayTo ?? plan.rayCount, plan.rayCount);
  const radiusM = (job.effectiveRadiusKm ?? DEFAULT_EFFECTIVE_RADIUS_KM) * 1000;
  const { groundM, obstacleM, cellM } = terrain;
  if (rayFrom === 0 && (job.mask === null || job.mask[plan.origin] !== 0))
    out[plan.origin] = Number.isNaN(groundM[plan.origin]!) ? VISIBILITY_UNKNOWN : VISIBLE;
  const lastMasked = job.mask === null ? null : lastMaskedSteps(terrain, plan, job.mask);
  for (const sector of plan.sectors) {
    const from = Math.max(rayFrom, sector.firstRay);
    const to = Math.min(rayTo, sector.firstRay + sector.rayCount);
    for (let ray = from; ray < to; ray++) {
      if ((ray & 7) === 0 && hooks.shouldStop?.()) throw cancelled("the sweep");
      const k = sector.firstK + ray - sector.firstRay;
      let steps = raySteps(sector, k, plan.rangeCells2);
      if (lastMasked !== null) steps = Math.min(steps, lastMasked[ray]!);
      if (steps > 0) {
        const slope = k / sector.rays;
        const bulgeM = (cellM * cellM * (1 + slope * slope)) / (2 * radiusM);
        visibleRay(
          groundM,
          obstacleM,
          sector,
          k,
          steps,
          plan.origin,
          plan.rangeCells2,
          job.mask,
          job.eyeAmslM,
          job.targetHeightM,
          bulgeM,
          out,
        );
      }
      if (hooks.onProgress && (ray & 63) === 63) hooks.onProgress((ray - rayFrom + 1) / (rayTo - rayFrom));
    }
  }
  hooks.onProgress?.(1);
}
