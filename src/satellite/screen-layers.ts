import type { Scene } from "../terrain/scene.ts";
import { ROOF_NOISE_M, STANDS_OUT_M, skyIndex, standsOn } from "./sky-index.ts";

/** Heights the sweeps run over, m AMSL; NaN where nothing of the kind hides. */
export interface ScreenLayers {
  /** Ground, buildings, and (with a canopy layer) everything else solid: takes the margin to hard objects. */
  hard: Float32Array;
  /** Canopy, or without a canopy layer whatever else stands on the surface: takes the margin to trees; null when bare ground only. */
  soft: Float32Array | null;
  /** 1 where heights are void. */
  voids: Uint8Array;
  anyVoid: boolean;
  /** 1 inside a building that stands on the day. */
  inBuilding: Uint8Array;
  /** Tallest thing above its own ground, m. */
  tallestM: number;
}

export function screenLayers(scene: Scene, date: string | null, growthM: number): ScreenLayers {
  const { grid, groundM, canopyM, buildingAt, buildings } = scene;
  const { cols, rows } = grid;
  const n = cols * rows;
  const { hard: solid, columns } = skyIndex(scene);
  const active = buildings.map((b) => date === null || standsOn(b, date));
  const hard = new Float32Array(n);
  const soft = canopyM === null && !scene.hasSurface ? null : new Float32Array(n).fill(Number.NaN);
  const voids = new Uint8Array(n);
  const inBuilding = new Uint8Array(n);
  let anyVoid = false;
  let tallestM = 0;
  for (let i = 0; i < n; i++) {
    const ground = groundM[i]!;
    const top = solid[i]!;
    const owner = buildingAt === null ? -1 : buildingAt[i]! - 1;
    const own = owner >= 0 && active[owner]!;
    if (own) inBuilding[i] = 1;
    hard[i] = ground;
    if (Number.isNaN(top) && !own) {
      voids[i] = 1;
      anyVoid = true;
    } else if (own) hard[i] = Math.max(buildings[owner]!.topAmslM, Number.isNaN(top) ? Number.NEGATIVE_INFINITY : top);
    else if (owner >= 0 && top <= buildings[owner]!.topAmslM + ROOF_NOISE_M) {
      // A temporary obstacle that is not there on the day leaves its ground.
    } else if (canopyM !== null) hard[i] = top;
    else if (top - ground > STANDS_OUT_M && soft !== null) {
      if (columns && nearBuilding(scene, active, i, top)) hard[i] = top;
      else soft[i] = top;
    }
    if (canopyM !== null) {
      const canopy = canopyM[i]!;
      if (Number.isNaN(canopy)) {
        voids[i] = 1;
        anyVoid = true;
      } else if (canopy > STANDS_OUT_M) soft![i] = ground + canopy + growthM;
    }
    const rise = Math.max(hard[i]!, soft === null || Number.isNaN(soft[i]!) ? hard[i]! : soft[i]!) - ground;
    if (rise > tallestM) tallestM = rise;
  }
  return { hard, soft, voids, anyVoid, inBuilding, tallestM };
}

/** A cell beside a building's outline and no higher than its roof is the building's wall, missed by less than a cell. */
function nearBuilding(scene: Scene, active: readonly boolean[], i: number, top: number): boolean {
  const { buildingAt, buildings, grid } = scene;
  if (buildingAt === null) return false;
  const col = i % grid.cols;
  const row = (i - col) / grid.cols;
  for (let r = Math.max(0, row - 1); r <= Math.min(grid.rows - 1, row + 1); r++)
    for (let k = Math.max(0, col - 1); k <= Math.min(grid.cols - 1, col + 1); k++) {
      const n = buildingAt[r * grid.cols + k]! - 1;
      if (n >= 0 && active[n] && top <= buildings[n]!.topAmslM + 1.5) return true;
    }
  return false;
}
