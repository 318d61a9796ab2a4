import { cancelled, HardstandError } from "../errors/index.ts";
import { type LinkConstants, linkConstants } from "./link-constants.ts";
import { createRayWork } from "./ray-work.ts";
import { lastMaskedSteps, planRays, type RayPlace, type RayPlan, raySteps } from "./rays.ts";
import { sampleRay } from "./sample-ray.kernel.ts";
import {
  DEFAULT_RAY_DENSITY,
  type SweepHooks,
  type SweepJob,
  type SweepOut,
  type SweepTerrain,
  type VegetationLoss,
} from "./types.ts";
import { walkRay } from "./walk-ray.kernel.ts";

/** Which arrays of a SweepOut are wanted beside the loss. */
export type SweepWanted = Partial<Record<"elevationDeg" | "unknownShare" | "lineOfSight" | "vegetationM", boolean>>;

/**
 * Output arrays for one sweep, filled with "not evaluated".
 * @param shared true: in SharedArrayBuffers, so that several threads can fill them
 */
export function createSweepOut(cells: number, wanted: SweepWanted = {}, shared = false): SweepOut {
  const buffer = (bytes: number) => (shared ? new SharedArrayBuffer(bytes) : new ArrayBuffer(bytes));
  const out: SweepOut = {
    lossDb: new Float32Array(buffer(cells * 4)),
    elevationDeg: wanted.elevationDeg ? new Float32Array(buffer(cells * 4)) : null,
    unknownShare: wanted.unknownShare ? new Uint8Array(buffer(cells)) : null,
    lineOfSight: wanted.lineOfSight ? new Uint8Array(buffer(cells)) : null,
    vegetationM: wanted.vegetationM ? new Float32Array(buffer(cells * 4)) : null,
  };
  clearSweepOut(out);
  return out;
}

/** Fills every array with "not evaluated". */
export function clearSweepOut(out: SweepOut): void {
  out.lossDb.fill(Number.NaN);
  out.elevationDeg?.fill(Number.NaN);
  out.vegetationM?.fill(Number.NaN);
  out.unknownShare?.fill(0);
  out.lineOfSight?.fill(0);
}

/** How many rays a sweep has; work is shared out in ranges of them. */
export function countSweepRays(terrain: SweepTerrain, job: RayPlace & { rayDensity?: number }): number {
  return planFor(terrain, job).rayCount;
}

function planFor(terrain: SweepTerrain, job: RayPlace & { rayDensity?: number }): RayPlan {
  return planRays(terrain, job, job.rayDensity ?? DEFAULT_RAY_DENSITY);
}

/**
 * Path loss between one terminal and every cell around it, by a radial sweep: free space plus delta-Bullington diffraction.
 * Loss is reciprocal, so a sweep from a point answers for a unit at every cell.
 *
 * Every cell is owned by the ray that passes nearest to its centre; the path's profile is that ray's, the receiver's height
 * and distance are the cell's own. The terminal's own cell gets free space over half a cell.
 *
 * Void: a receiver on void ground stays NaN; a void between the ends is held at the last known height and reported in
 * unknownShare; a terminal on void ground leaves everything NaN.
 *
 * @param hooks rayFrom and rayTo cut the sweep into parts that give byte-identical results whatever the cut; without them
 *              `out` is filled with "not evaluated" first
 * Throws model.input for a terminal off the grid or arrays of another size, run.cancelled when told to stop.
 * Source: Rec. ITU-R P.526-15 §4.5; with vegetation, Rec. ITU-R P.833 §2.1.
 */
export function sweepLoss(terrain: SweepTerrain, job: SweepJob, out: SweepOut, hooks: SweepHooks = {}): void {
  const absent = job.canopy === "absent";
  const route: Route = {
    terrain,
    canopyTopM: absent && (job.vegetation || out.vegetationM) ? (terrain.canopyTopM ?? null) : null,
    vegetation: absent ? (job.vegetation ?? null) : null,
  };
  runSweep([route], job, out, null, hooks);
}

/** One way the path can go: over this surface, with this loss inside vegetation. */
export interface Route {
  terrain: SweepTerrain;
  canopyTopM: Float32Array | null;
  vegetation: VegetationLoss | null;
}

/**
 * The driver below sweepLoss and sweepPoint: every ray once for each route. The first route writes, later ones only where
 * they lose less.
 * @param through set to 1 where a later route won; null when there is one route
 */
export function runSweep(
  routes: Route[],
  job: SweepJob,
  out: SweepOut,
  through: Uint8Array | null,
  hooks: SweepHooks,
): void {
  const terrain = routes[0]!.terrain;
  for (const route of routes) checkSweep(route.terrain, job, out.lossDb.length);
  const plan = planFor(terrain, job);
  if (hooks.rayFrom === undefined && hooks.rayTo === undefined) {
    clearSweepOut(out);
    through?.fill(0);
  }
  const rayFrom = hooks.rayFrom ?? 0;
  const rayTo = Math.min(hooks.rayTo ?? plan.rayCount, plan.rayCount);
  const link = linkConstants(job);
  if (!Number.isFinite(terrain.groundM[plan.origin]!)) return;
  if (rayFrom === 0) ownCell(terrain, job, plan.origin, link, out);

  const { cellM, groundM } = terrain;
  const zeroM = job.antennaAmslM;
  const lastMasked = job.mask === null ? null : lastMaskedSteps(terrain, plan, job.mask);
  const longest = plan.sectors.reduce((most, sector) => Math.max(most, sector.reach), 0);
  const work = createRayWork(longest);
  for (const sector of plan.sectors) {
    const from = Math.max(rayFrom, sector.firstRay);
    const to = Math.min(rayTo, sector.firstRay + sector.rayCount);
    for (let ray = from; ray < to; ray++) {
      if (hooks.shouldStop?.()) throw cancelled("the sweep");
      const k = sector.firstK + ray - sector.firstRay;
      let steps = raySteps(sector, k, plan.rangeCells2);
      if (lastMasked !== null) steps = Math.min(steps, lastMasked[ray]!);
      if (steps > 0) {
        const slope = k / sector.rays;
        const stepM = cellM * Math.sqrt(1 + slope * slope);
        const bulgeM = (stepM * stepM) / (2 * link.radiusM);
        for (let r = 0; r < routes.length; r++) {
          const { terrain: ground, canopyTopM, vegetation } = routes[r]!;
          sampleRay(ground, sector, k, steps, plan.origin, canopyTopM, zeroM, bulgeM, r > 0, work);
          walkRay(
            work,
            sector,
            plan.rangeCells2,
            job.mask,
            stepM,
            cellM,
            zeroM,
            job.receiverHeightM,
            groundM,
            link,
            vegetation,
            r > 0,
            through,
            out,
          );
        }
      }
      if (hooks.onProgress && (ray & 63) === 63) hooks.onProgress((ray - rayFrom + 1) / (rayTo - rayFrom));
    }
  }
  hooks.onProgress?.(1);
}

/** The terminal's own cell: free space over half a cell and the difference in height. */
function ownCell(terrain: SweepTerrain, job: SweepJob, cell: number, link: LinkConstants, out: SweepOut): void {
  if (job.mask !== null && job.mask[cell] === 0) return;
  const half = terrain.cellM / 2;
  const rise = job.antennaAmslM - (terrain.groundM[cell]! + job.receiverHeightM);
  out.lossDb[cell] = link.freeSpaceDb + 10 * Math.log10(half * half + rise * rise);
  if (out.elevationDeg) out.elevationDeg[cell] = (180 / Math.PI) * Math.atan2(rise, half);
  if (out.lineOfSight) out.lineOfSight[cell] = 1;
  if (out.vegetationM) out.vegetationM[cell] = 0;
}

/** Says what is wrong with a sweep's input before a kernel meets it. */
export function checkSweep(
  terrain: SweepTerrain,
  place: { col: number; row: number; mask?: Uint8Array | null },
  outCells: number,
): void {
  const cells = terrain.cols * terrain.rows;
  const { col, row } = place;
  if (
    !Number.isInteger(col) ||
    !Number.isInteger(row) ||
    col < 0 ||
    row < 0 ||
    col >= terrain.cols ||
    row >= terrain.rows
  )
    throw new HardstandError("model.input", "the terminal of a sweep stands off the grid", {
      where: "col, row",
      received: [col, row],
      hint: `give whole numbers within ${terrain.cols} columns and ${terrain.rows} rows`,
    });
  const sizes: [string, number][] = [
    ["groundM", terrain.groundM.length],
    ["obstacleM", terrain.obstacleM.length],
    ["canopyTopM", terrain.canopyTopM?.length ?? cells],
    ["mask", place.mask?.length ?? cells],
    ["out", outCells],
  ];
  for (const [where, size] of sizes)
    if (size !== cells)
      throw new HardstandError("model.input", `an array of a sweep has not one value per cell`, {
        where,
        received: size,
        hint: `give ${cells} values (${terrain.cols} × ${terrain.rows})`,
      });
}
