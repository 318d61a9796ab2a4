/**
 * Bilinear value inside a window at a fractional column and row (whole numbers are cell centres).
 * Void as soon as a cell with weight is void or outside the window.
 * @param values  row-major window, NaN = void
 * @param cols    columns of the window
 */
export function sampleWindow(values: Float32Array, cols: number, col: number, row: number): number {
  const rows = values.length / cols;
  const c0 = Math.floor(col);
  const r0 = Math.floor(row);
  const at = (c: number, r: number): number =>
    c < 0 || r < 0 || c >= cols || r >= rows ? Number.NaN : values[r * cols + c]!;
  const fc = col - c0;
  const fr = row - r0;
  const mix = (a: number, b: number, f: number): number => (f === 0 ? a : a + (b - a) * f);
  const top = mix(at(c0, r0), at(c0 + 1, r0), fc);
  if (fr === 0) return top;
  return mix(top, mix(at(c0, r0 + 1), at(c0 + 1, r0 + 1), fc), fr);
}
