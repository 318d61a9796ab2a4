import { type ReferenceLink, type ReferenceLoss, referenceLoss } from "./reference-loss.ts";

export interface ReferenceTerrain {
  cols: number;
  rows: number;
  cellM: number;
  groundM: Float32Array;
  obstacleM: Float32Array;
}

/** Height where a line crosses column or row j, linear between the two cells there. */
function crossing(terrain: ReferenceTerrain, values: Float32Array, col: number, row: number): number {
  const c0 = Math.floor(col);
  const r0 = Math.floor(row);
  const at = (c: number, r: number) => values[r * terrain.cols + c]!;
  if (c0 === col && r0 === row) return at(c0, r0);
  if (c0 === col) return at(c0, r0) + (row - r0) * (at(c0, r0 + 1) - at(c0, r0));
  return at(c0, r0) + (col - c0) * (at(c0 + 1, r0) - at(c0, r0));
}

/** Profile along the exact line between two cell centres, sampled where it crosses the columns (or rows). */
export function exactProfile(terrain: ReferenceTerrain, c0: number, r0: number, c1: number, r1: number) {
  const dc = c1 - c0;
  const dr = r1 - r0;
  const n = Math.max(Math.abs(dc), Math.abs(dr));
  const stepKm = (Math.hypot(dc, dr) * terrain.cellM) / n / 1000;
  const d: number[] = [];
  const h: number[] = [];
  const g: number[] = [];
  for (let j = 0; j <= n; j++) {
    // Whole-number products first, so that crossings at cell centres are exact.
    const col = c0 + (j * dc) / n;
    const row = r0 + (j * dr) / n;
    d.push(j * stepKm);
    h.push(crossing(terrain, terrain.groundM, col, row));
    g.push(crossing(terrain, terrain.obstacleM, col, row));
  }
  return { d, h, g };
}

/** Loss profile by profile: the terminal at one cell, the receiver at another. */
export function referenceAt(
  terrain: ReferenceTerrain,
  job: ReferenceLink & { col: number; row: number; antennaAmslM: number; receiverHeightM: number },
  col: number,
  row: number,
): ReferenceLoss {
  const { d, h, g } = exactProfile(terrain, job.col, job.row, col, row);
  return referenceLoss(d, h, g, job.antennaAmslM, h[h.length - 1]! + job.receiverHeightM, job);
}
