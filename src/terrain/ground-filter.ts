import { slideLine } from "./morphology.kernel.ts";
import { sharedHeights } from "./shared.ts";

/** Sliding minimum (sign 1) or maximum (−1) in a square window. Voids stay void. */
export function slideSquare(
  values: Float32Array,
  cols: number,
  rows: number,
  half: number,
  sign: 1 | -1,
): Float32Array {
  const scratch = Math.max(cols, rows) + 4 * half + 3;
  const ahead = new Float32Array(scratch);
  const behind = new Float32Array(scratch);
  const out = new Float32Array(values.length);
  for (let r = 0; r < rows; r++) slideLine(values, r * cols, 1, cols, half, sign, out, ahead, behind);
  for (let c = 0; c < cols; c++) slideLine(out, c, cols, rows, half, sign, out, ahead, behind);
  for (let i = 0; i < out.length; i++) if (Number.isNaN(values[i]!) || !Number.isFinite(out[i]!)) out[i] = Number.NaN;
  return out;
}

/** Morphological opening: what remains of a surface when everything narrower than the window is taken off. */
export function openSquare(values: Float32Array, cols: number, rows: number, half: number): Float32Array {
  return slideSquare(slideSquare(values, cols, rows, half, 1), cols, rows, half, -1);
}

export interface GroundFilterOptions {
  /** Widest object to take off, m: half of it is the last window's half-width. Default 60. */
  widestM?: number;
  /** Steepest slope taken for ground, rise over run. Default 0.3. */
  slope?: number;
  /** Least height of an object, m. Default 0.5. */
  leastM?: number;
  /** Height above which anything is an object however steep the ground, m. Default 3. */
  mostM?: number;
}

/**
 * Bare ground estimated from a surface by the progressive morphological filter: openings with windows doubling in
 * width; a cell that stands above an opening by more than the ground's slope allows is an object.
 * Objects take the opened height; all other cells keep their own.
 * Source: K. Zhang et al., "A progressive morphological filter for removing nonground measurements from airborne LIDAR
 * data", IEEE Trans. Geoscience and Remote Sensing 41 (2003) 872–882, eqs. (4)–(7), on a grid.
 * Objects wider than `widestM` and objects on ground steeper than `slope` stay in: the result is an estimate.
 * @returns ground heights (void where the surface is void) and the share of cells taken for objects
 */
export function estimateGround(
  surfaceM: Float32Array,
  cols: number,
  rows: number,
  cellM: number,
  options: GroundFilterOptions = {},
): { groundM: Float32Array; objectShare: number } {
  const { widestM = 60, slope = 0.3, leastM = 0.5, mostM = 3 } = options;
  const groundM = sharedHeights(surfaceM.length);
  groundM.set(surfaceM);
  const isObject = new Uint8Array(surfaceM.length);
  const largest = Math.max(1, Math.ceil(widestM / 2 / cellM));
  const halves: number[] = [];
  for (let half = 1; half < largest; half *= 2) halves.push(half);
  halves.push(largest);
  const pass = (half: number, last: number): void => {
    const opened = openSquare(groundM, cols, rows, half);
    const limit = last === 0 ? leastM + slope * cellM : Math.min(mostM, slope * 2 * (half - last) * cellM + leastM);
    for (let i = 0; i < groundM.length; i++)
      if (groundM[i]! - opened[i]! > limit) {
        isObject[i] = 1;
        groundM[i] = opened[i]!;
      }
  };
  halves.forEach((half, k) => {
    pass(half, k === 0 ? 0 : halves[k - 1]!);
  });
  // Rims of objects half a wall high, left where the large windows allowed for slope, are now narrow by themselves.
  halves.slice(0, 2).forEach((half, k) => {
    pass(half, k === 0 ? 0 : halves[k - 1]!);
  });
  let objects = 0;
  for (const o of isObject) objects += o;
  return { groundM, objectShare: objects / Math.max(1, surfaceM.length) };
}
