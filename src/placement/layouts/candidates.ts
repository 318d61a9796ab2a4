import type { Grid } from "../../terrain/scene.ts";

/** Candidate spots looked at for every unit to place, and in all. */
const SPOTS_PER_UNIT = 16;
const MOST_SPOTS = 100;

/** How many candidate spots a joint choice is made from. */
export const candidateCount = (units: number, shortlist: number): number =>
  Math.max(shortlist, Math.min(MOST_SPOTS, SPOTS_PER_UNIT * units));

export interface CandidateField {
  grid: Grid;
  /** Grid index of every cell that may be used. */
  cells: readonly number[];
  /** Per demand: what each of the cells gives it, 0…1, in the cells' order. */
  values: readonly Float32Array[];
  weights: readonly number[];
}

/**
 * Cells that complete each other: each one adds the most to what the earlier ones of its round leave unserved; when a round has nothing
 * left to add the next begins anew. A good second unit is often a poor only unit, so a list by single score would miss it.
 * @param taken cells already chosen; nothing within `apartM` of them is picked
 */
export function complementaryCells(
  field: CandidateField,
  count: number,
  taken: readonly number[],
  apartM: number,
): number[] {
  const { grid, cells, values, weights } = field;
  const free = new Uint8Array(cells.length).fill(1);
  const reach2 = (apartM / grid.cellM) ** 2;
  const close = (cell: number): void => {
    const col = cell % grid.cols;
    const row = Math.floor(cell / grid.cols);
    for (let i = 0; i < cells.length; i++) {
      const dc = (cells[i]! % grid.cols) - col;
      const dr = Math.floor(cells[i]! / grid.cols) - row;
      if (dc * dc + dr * dr < reach2 || cells[i] === cell) free[i] = 0;
    }
  };
  for (const cell of taken) close(cell);
  const served = new Float64Array(values.length);
  const picked: number[] = [];
  let fresh = true;
  while (picked.length < count) {
    let best = -1;
    let most = 1e-6;
    for (let i = 0; i < cells.length; i++) {
      if (free[i] === 0) continue;
      let gain = 0;
      for (let d = 0; d < values.length; d++) {
        const more = values[d]![i]! - served[d]!;
        if (more > 0) gain += weights[d]! * more;
      }
      if (gain > most) {
        most = gain;
        best = i;
      }
    }
    if (best < 0) {
      if (fresh) break;
      served.fill(0);
      fresh = true;
      continue;
    }
    fresh = false;
    picked.push(cells[best]!);
    for (let d = 0; d < values.length; d++) served[d] = Math.max(served[d]!, values[d]![best]!);
    close(cells[best]!);
  }
  return picked;
}
