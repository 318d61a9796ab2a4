/** Running numbers of a raster's cells: [valid, sum, min, max, jumps]. */
export const ACCUMULATORS = 5;

/**
 * Adds one row of heights (NaN = void) to the running numbers.
 * A row without voids, the usual case, takes a short way: its sum tells.
 * @param jump  neighbours along the row that differ by more than this are counted, metres
 */
export function addRow(values: Float32Array, from: number, count: number, jump: number, acc: Float64Array): void {
  const to = from + count;
  let min = acc[2]!;
  let max = acc[3]!;
  let sum = 0;
  let jumps = 0;
  let before = values[from]!;
  for (let i = from; i < to; i++) sum += values[i]!;
  if (!Number.isNaN(sum)) {
    for (let i = from; i < to; i++) {
      const v = values[i]!;
      if (v < min) min = v;
      if (v > max) max = v;
      const d = v - before;
      if (d > jump || d < -jump) jumps++;
      before = v;
    }
    acc[0] = acc[0]! + count;
  } else {
    let valid = 0;
    sum = 0;
    for (let i = from; i < to; i++) {
      const v = values[i]!;
      const d = v - before;
      if (d > jump || d < -jump) jumps++;
      before = v;
      if (Number.isNaN(v)) continue;
      valid++;
      sum += v;
      if (v < min) min = v;
      if (v > max) max = v;
    }
    acc[0] = acc[0]! + valid;
  }
  acc[1] = acc[1]! + sum;
  acc[2] = min;
  acc[3] = max;
  acc[4] = acc[4]! + jumps;
}
