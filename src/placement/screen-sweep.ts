import { clearSweepOut, createSweepOut, type SweepOut, type SweepTerrain, sweepLoss } from "../coverage/index.ts";
import type { Season } from "../plan/types.ts";
import { vegetationParameters } from "../propagation/index.ts";
import { nearestCell, type Scene } from "../terrain/scene.ts";
import { EARTH_RADIUS_KM } from "../units/index.ts";
import type { ScreenSweep, ScreenValues } from "./executor.ts";

/** What one thread keeps between the sweeps of a run. */
export interface SweepWorkspace {
  solid: SweepOut;
  bare: SweepOut | null;
  solidM: Float32Array;
  bareM: Float32Array;
  canopyTopM: Float32Array | null;
  mask: Uint8Array;
}

/** Arrays for the sweeps of one scene toward one set of candidate cells. */
export function sweepWorkspace(scene: Scene, cells: Uint32Array): SweepWorkspace {
  const size = scene.grid.cols * scene.grid.rows;
  const wanted = { elevationDeg: true, unknownShare: true } as const;
  const hasCanopy = scene.canopyM !== null;
  const mask = new Uint8Array(size);
  for (const c of cells) mask[c] = 1;
  let canopyTopM: Float32Array | null = null;
  if (scene.canopyM) {
    canopyTopM = new Float32Array(size).fill(Number.NEGATIVE_INFINITY);
    for (let i = 0; i < size; i++) if (scene.canopyM[i]! > 0) canopyTopM[i] = scene.groundM[i]! + scene.canopyM[i]!;
  }
  return {
    solid: createSweepOut(size, wanted),
    bare: hasCanopy ? createSweepOut(size, { ...wanted, vegetationM: true }) : null,
    solidM: scene.surfaceM,
    bareM: scene.bareSurfaceM,
    canopyTopM,
    mask,
  };
}

/**
 * One screening sweep: P.526 over the surface from a terminal to every candidate cell, twice where the plan has a canopy
 * (solid; absent plus P.833 inside it), the lesser counting. A terminal's own building never blocks it.
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
  const out: ScreenValues = { lossDb: new Float32Array(n).fill(Number.NaN), elevationDeg: new Float32Array(n) };
  const at = nearestCell(grid, job);
  if (!at || Number.isNaN(groundM[at.index]!)) return out;
  const building = job.building >= 0 ? scene.buildings[job.building]! : null;
  const antennaAmslM = job.onRoof && building ? building.topAmslM + job.heightM : groundM[at.index]! + job.heightM;
  const restore = building ? withoutBuilding(scene, job.building, work) : null;
  const common = {
    col: at.col,
    row: at.row,
    antennaAmslM,
    receiverHeightM: job.receiverHeightM,
    frequencyMHz: job.frequencyMHz,
    effectiveRadiusKm: k * EARTH_RADIUS_KM,
    polarization: job.polarization,
    maxRangeM: Number.POSITIVE_INFINITY,
    mask: work.mask,
  };
  const hooks = shouldStop ? { shouldStop } : {};
  const terrain = (obstacleM: Float32Array, canopyTopM: Float32Array | null): SweepTerrain => ({
    cols: grid.cols,
    rows: grid.rows,
    cellM: grid.cellM,
    groundM,
    obstacleM,
    canopyTopM,
  });

  clearSweepOut(work.solid);
  sweepLoss(terrain(work.solidM, null), { ...common, canopy: "solid" }, work.solid, hooks);
  if (work.bare) {
    clearSweepOut(work.bare);
    sweepLoss(
      terrain(work.bareM, work.canopyTopM),
      { ...common, canopy: "absent", vegetation: vegetationParameters(job.frequencyMHz, season) },
      work.bare,
      hooks,
    );
  }
  const { solid, bare } = work;
  for (let i = 0; i < n; i++) {
    const c = cells[i]!;
    const overDb = solid.lossDb[c]!;
    const throughDb = bare ? bare.lossDb[c]! : Number.POSITIVE_INFINITY;
    const through = bare !== null && throughDb <= overDb;
    const used = through ? bare : solid;
    if (used.unknownShare![c]! > 0) continue;
    out.lossDb[i] = through ? throughDb : overDb;
    out.elevationDeg[i] = used.elevationDeg![c]!;
  }
  restore?.();
  return out;
}

/** Lowers one building to the ground in the sweep's own copies of the surfaces; returns what puts it back. */
function withoutBuilding(scene: Scene, building: number, work: SweepWorkspace): () => void {
  if (work.solidM === scene.surfaceM) work.solidM = Float32Array.from(scene.surfaceM);
  if (work.bareM === scene.bareSurfaceM)
    work.bareM = scene.bareSurfaceM === scene.surfaceM ? work.solidM : Float32Array.from(scene.bareSurfaceM);
  const lowered: number[] = [];
  const mark = building + 1;
  for (let i = 0; i < scene.buildingAt!.length; i++) if (scene.buildingAt![i] === mark) lowered.push(i);
  for (const i of lowered) {
    work.solidM[i] = scene.groundM[i]!;
    work.bareM[i] = scene.groundM[i]!;
  }
  return () => {
    for (const i of lowered) {
      work.solidM[i] = scene.surfaceM[i]!;
      work.bareM[i] = scene.bareSurfaceM[i]!;
    }
  };
}
