import { createPointOut, type PointOut, type SweepScene, sweepPoint, sweepScene } from "../coverage/index.ts";
import type { Season } from "../plan/types.ts";
import { vegetationParameters } from "../propagation/index.ts";
import { nearestCell, type Scene } from "../terrain/scene.ts";
import { EARTH_RADIUS_KM } from "../units/index.ts";
import type { ScreenSweep, ScreenValues } from "./executor.ts";

/** What one thread keeps between the sweeps of a run. */
export interface SweepWorkspace {
  scene: SweepScene;
  out: PointOut;
  mask: Uint8Array;
}

/** Arrays for the sweeps of one scene toward one set of candidate cells. */
export function sweepWorkspace(scene: Scene, cells: Uint32Array): SweepWorkspace {
  const size = scene.grid.cols * scene.grid.rows;
  const mask = new Uint8Array(size);
  for (const c of cells) mask[c] = 1;
  return { scene: sweepScene(scene), out: createPointOut(size, { elevationDeg: true, unknownShare: true }), mask };
}

/**
 * One screening sweep: P.526 over the surface from a terminal to every candidate cell, through vegetation or over it,
 * whichever loses less. A terminal's own building never blocks it.
 * @returns values at `cells`, in their order; lossDb NaN where any of the path is unknown
 */
export function screenSweep(
  scene: Scene,
  job: ScreenSweep,
  cells: Uint32Array,
  season: Season,
  k: number,
  work: SweepWorkspace,
  shouldStop?: () => boolean,
): ScreenValues {
  const { grid, groundM } = scene;
  const n = cells.length;
  const result: ScreenValues = { lossDb: new Float32Array(n).fill(Number.NaN), elevationDeg: new Float32Array(n) };
  const at = nearestCell(grid, job);
  if (!at || Number.isNaN(groundM[at.index]!)) return result;
  const building = job.building >= 0 ? scene.buildings[job.building]! : null;
  const antennaAmslM = job.onRoof && building ? building.topAmslM + job.heightM : groundM[at.index]! + job.heightM;
  const restore = building ? withoutBuilding(scene, job.building, work) : null;
  sweepPoint(
    work.scene,
    {
      col: at.col,
      row: at.row,
      antennaAmslM,
      receiverHeightM: job.receiverHeightM,
      frequencyMHz: job.frequencyMHz,
      effectiveRadiusKm: k * EARTH_RADIUS_KM,
      polarization: job.polarization,
      maxRangeM: Number.POSITIVE_INFINITY,
      mask: work.mask,
      vegetation: vegetationParameters(job.frequencyMHz, season),
    },
    work.out,
    shouldStop ? { shouldStop } : {},
  );
  restore?.();
  const { lossDb, elevationDeg, unknownShare } = work.out;
  for (let i = 0; i < n; i++) {
    const c = cells[i]!;
    if (unknownShare![c]! > 0) continue;
    result.lossDb[i] = lossDb[c]!;
    result.elevationDeg[i] = elevationDeg![c]!;
  }
  return result;
}

/** Lowers one building to the ground in the sweep's own copies of the surfaces; returns what puts it back. */
function withoutBuilding(scene: Scene, building: number, work: SweepWorkspace): () => void {
  const own = work.scene;
  if (own.surfaceM === scene.surfaceM) own.surfaceM = Float32Array.from(scene.surfaceM);
  if (own.bareSurfaceM === scene.bareSurfaceM)
    own.bareSurfaceM = scene.bareSurfaceM === scene.surfaceM ? own.surfaceM : Float32Array.from(scene.bareSurfaceM);
  const lowered: number[] = [];
  const mark = building + 1;
  for (let i = 0; i < scene.buildingAt!.length; i++) if (scene.buildingAt![i] === mark) lowered.push(i);
  for (const i of lowered) {
    own.surfaceM[i] = scene.groundM[i]!;
    own.bareSurfaceM[i] = scene.groundM[i]!;
  }
  return () => {
    for (const i of lowered) {
      own.surfaceM[i] = scene.surfaceM[i]!;
      own.bareSurfaceM[i] = scene.bareSurfaceM[i]!;
    }
  };
}
