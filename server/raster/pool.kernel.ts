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
      let best = -Infinity;
      if (a > best) best = a;
      if (b > best) best = b;
      if (d > best) best = d;
      if (e > best) best = e;
      out[to + c] = best === -Infinity ? Number.NaN : best;
    }
  }
}
