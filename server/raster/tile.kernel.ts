/**
 * Halves rows by the maximum of each 2 × 2 group's valid members; a group without any is void. Odd edges count as they are.
 * @param values row-major, `width` × `rows`, NaN = void
 * @param out    ceil(width/2) × ceil(rows/2)
 */
export function poolPairs(values: Float32Array, width: number, rows: number, out: Float32Array): void {
  const outWidth = (width + 1) >> 1;
  const outRows = (rows + 1) >> 1;
  for (let r = 0; r < outRows; r++) {
    const top = 2 * r * width;
    const bottom = 2 * r + 1 < rows ? top + width : top;
    const to = r * outWidth;
    for (let c = 0; c < outWidth; c++) {
      const left = 2 * c;
      const right = left + 1 < width ? left + 1 : left;
      const a = values[top + left]!;
      const b = values[top + right]!;
      const d = values[bottom + left]!;
      const e = values[bottom + right]!;
      if (!Number.isNaN(a + b + d + e)) {
        const m = Math.max(a, b);
        const n = Math.max(d, e);
        out[to + c] = Math.max(m, n);
        continue;
      }
      let best = -Infinity;
      if (a > best) best = a;
      if (b > best) best = b;
      if (d > best) best = d;
      if (e > best) best = e;
      out[to + c] = best === -Infinity ? Number.NaN : best;
    }
  }
}

/** Side of a tile; see the cache format. */
const SIDE = 256;

/**
 * Cuts one tile of 256 × 256 out of rows; cells beyond the raster are void.
 * @returns whether the tile holds any height
 */
export function cutTile(
  band: Float32Array,
  width: number,
  left: number,
  cols: number,
  rows: number,
  out: Float32Array,
  start: number,
): boolean {
  if (cols < SIDE || rows < SIDE) out.fill(Number.NaN, start, start + SIDE * SIDE);
  let some = false;
  for (let r = 0; r < rows; r++) {
    const from = r * width + left;
    const to = start + r * SIDE;
    out.set(band.subarray(from, from + cols), to);
    for (let c = 0; !some && c < cols; c++) some = !Number.isNaN(band[from + c]);
  }
  return some;
}
