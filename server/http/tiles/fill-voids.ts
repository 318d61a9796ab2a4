/**
 * Heights with every void filled from what is known around it, smoothly: means over ever larger blocks, then back down.
 * For shading on the map only; no number is ever read from it.
 * @returns the same array when there is no void; null when nothing is known at all
 */
export function fillVoids(heights: Float32Array, cols: number, rows: number): Float32Array | null {
  let voids = 0;
  for (let i = 0; i < heights.length; i++) if (Number.isNaN(heights[i]!)) voids++;
  if (voids === 0) return heights;
  if (voids === heights.length) return null;
  if (cols === 1 && rows === 1) return null;
  const halfCols = Math.ceil(cols / 2);
  const halfRows = Math.ceil(rows / 2);
  const half = new Float32Array(halfCols * halfRows);
  for (let r = 0; r < halfRows; r++)
    for (let c = 0; c < halfCols; c++) {
      let sum = 0;
      let known = 0;
      for (let j = 2 * r; j < Math.min(2 * r + 2, rows); j++)
        for (let i = 2 * c; i < Math.min(2 * c + 2, cols); i++) {
          const h = heights[j * cols + i]!;
          if (Number.isNaN(h)) continue;
          sum += h;
          known++;
        }
      half[r * halfCols + c] = known === 0 ? Number.NaN : sum / known;
    }
  const coarse = fillVoids(half, halfCols, halfRows)!;
  const out = Float32Array.from(heights);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < cols; c++)
      if (Number.isNaN(out[r * cols + c]!)) out[r * cols + c] = coarse[(r >> 1) * halfCols + (c >> 1)]!;
  return out;
}
