import type { Scene } from "../../terrain/scene.ts";
import type { PathEnd, PathProfile } from "./sample.ts";

/** Samples further than this many cells from an end have none of its own cell among their four. */
const NEAR_CELLS = 3;

/**
 * Fills the heights of a straight line, from the unit (0) to the terminal (n − 1); voids are left NaN.
 * The four weights are added in the same order everywhere, so that a path is the same bytes whoever cuts it.
 * @param unitCell, terminalCell index of the ends' own cells, −1 off the grid; they give ground instead of obstacle
 * @returns count of samples with a missing height
 */
export function sampleLine(
  scene: Scene,
  unit: PathEnd,
  terminal: PathEnd,
  distanceM: number,
  n: number,
  unitCell: number,
  terminalCell: number,
  out: PathProfile,
): number {
  const { groundM, surfaceM, bareSurfaceM, canopyM, buildingAt } = scene;
  const { cols, rows, cellM, westM, northM } = scene.grid;
  const ground = out.groundM;
  const solid = out.solidM;
  const bare = out.bareM;
  const { distancesKm, voids, canopyTopM, building } = out;
  const x0 = unit.xM;
  const y0 = unit.yM;
  const dx = terminal.xM - x0;
  const dy = terminal.yM - y0;
  const skipA = unit.building + 1;
  const skipB = terminal.building + 1;
  const ownBuilding = buildingAt !== null && (skipA !== 0 || skipB !== 0);
  const oneSurface = surfaceM === bareSurfaceM;
  const last = n - 1;
  const lastCol = cols - 1;
  const lastRow = rows - 1;
  const lastCol0 = Math.max(cols - 2, 0);
  const lastRow0 = Math.max(rows - 2, 0);
  // Steps are at most one cell long (longer only beyond the most samples), so that this many hold every near sample.
  const near = Math.ceil((NEAR_CELLS * cellM * last) / Math.max(distanceM, cellM));
  let unknown = 0;
  let hasCanopy = false;
  let differ = false;

  for (let i = 0; i < n; i++) {
    const t = i / last;
    distancesKm[i] = (distanceM * t) / 1000;
    voids[i] = 0;
    const col = (x0 + dx * t - westM) / cellM - 0.5;
    const row = (northM - (y0 + dy * t)) / cellM - 0.5;
    if (!(col >= -0.5 && row >= -0.5 && col <= cols - 0.5 && row <= rows - 0.5)) {
      ground[i] = solid[i] = bare[i] = Number.NaN;
      canopyTopM[i] = Number.NEGATIVE_INFINITY;
      building[i] = -1;
      voids[i] = 1;
      unknown++;
      continue;
    }
    const c = col < 0 ? 0 : col > lastCol ? lastCol : col;
    const r = row < 0 ? 0 : row > lastRow ? lastRow : row;
    const c0 = Math.min(Math.floor(c), lastCol0);
    const r0 = Math.min(Math.floor(r), lastRow0);
    const fc = c - c0;
    const fr = r - r0;
    const right = c0 < lastCol ? 1 : 0;
    const a = r0 * cols + c0;
    const d = (r0 < lastRow ? a + cols : a) + right;
    const w0 = (1 - fc) * (1 - fr);
    const w1 = fc * (1 - fr);
    const w2 = (1 - fc) * fr;
    const w3 = fc * fr;
    let g = 0;
    let s = 0;
    let b = 0;
    if (i > near && i < last - near && !ownBuilding && w0 !== 0 && w1 !== 0 && w2 !== 0 && w3 !== 0) {
      const e = a + right;
      const f = d - right;
      g = w0 * groundM[a]! + w1 * groundM[e]! + w2 * groundM[f]! + w3 * groundM[d]!;
      s = w0 * surfaceM[a]! + w1 * surfaceM[e]! + w2 * surfaceM[f]! + w3 * surfaceM[d]!;
      if (!oneSurface)
        b = w0 * bareSurfaceM[a]! + w1 * bareSurfaceM[e]! + w2 * bareSurfaceM[f]! + w3 * bareSurfaceM[d]!;
    } else {
      // A cell of no weight is not looked at: it may be void.
      for (let corner = 0; corner < 4; corner++) {
        const w = corner === 0 ? w0 : corner === 1 ? w1 : corner === 2 ? w2 : w3;
        if (w === 0) continue;
        const index = corner === 0 ? a : corner === 1 ? a + right : corner === 2 ? d - right : d;
        const height = groundM[index]!;
        g += w * height;
        let own = index === unitCell || index === terminalCell;
        if (ownBuilding) {
          const mark = buildingAt[index]!;
          if (mark !== 0 && (mark === skipA || mark === skipB)) own = true;
        }
        if (own) {
          s += w * height;
          if (!oneSurface) b += w * height;
        } else {
          s += w * surfaceM[index]!;
          if (!oneSurface) b += w * bareSurfaceM[index]!;
        }
      }
    }
    if (oneSurface) b = s;
    ground[i] = g;
    solid[i] = s;
    bare[i] = b;
    if (s !== b) differ = true;
    const nearest = Math.round(r) * cols + Math.round(c);
    const tree = canopyM === null ? 0 : canopyM[nearest]!;
    building[i] = buildingAt === null ? -1 : buildingAt[nearest]! - 1;
    if (tree > 0 && nearest !== unitCell && nearest !== terminalCell) {
      canopyTopM[i] = groundM[nearest]! + tree;
      hasCanopy = true;
    } else canopyTopM[i] = Number.NEGATIVE_INFINITY;
    if (Number.isNaN(g) || Number.isNaN(s)) {
      voids[i] = 1;
      unknown++;
    }
  }
  out.hasCanopy = hasCanopy;
  out.treesDiffer = differ;
  return unknown;
}
