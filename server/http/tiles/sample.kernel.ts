/**
 * Heights at fractional cells by straight interpolation; beyond the edge the edge's value goes on. `heights` bears no
 * void. For maps only: it keeps relief free of false cliffs at the data's edge.
 * @param cols0, rows0  wanted column and row of each output, whole numbers are cell centres
 */
export function heightsInto(
  heights: Float32Array,
  cols: number,
  rows: number,
  cols0: Float64Array,
  rows0: Float64Array,
  out: Float32Array,
): void {
  for (let k = 0; k < out.length; k++) {
    const c = Math.min(Math.max(cols0[k]!, 0), cols - 1);
    const r = Math.min(Math.max(rows0[k]!, 0), rows - 1);
    const c0 = Math.min(Math.floor(c), Math.max(cols - 2, 0));
    const r0 = Math.min(Math.floor(r), Math.max(rows - 2, 0));
    const c1 = Math.min(c0 + 1, cols - 1);
    const r1 = Math.min(r0 + 1, rows - 1);
    const fc = c - c0;
    const fr = r - r0;
    const top = heights[r0 * cols + c0]! * (1 - fc) + heights[r0 * cols + c1]! * fc;
    const bottom = heights[r1 * cols + c0]! * (1 - fc) + heights[r1 * cols + c1]! * fc;
    out[k] = top * (1 - fr) + bottom * fr;
  }
}

/**
 * Means of the cells a pixel covers, where a pixel is wider than a cell. Cells outside the grid are taken from its edge.
 * @param reach  half-width of the window, cells; the window is (2·reach + 1)²
 */
export function meansInto(
  heights: Float32Array,
  cols: number,
  rows: number,
  cols0: Float64Array,
  rows0: Float64Array,
  reach: number,
  out: Float32Array,
): void {
  for (let k = 0; k < out.length; k++) {
    const c = Math.min(Math.max(Math.round(cols0[k]!), 0), cols - 1);
    const r = Math.min(Math.max(Math.round(rows0[k]!), 0), rows - 1);
    const west = Math.max(c - reach, 0);
    const east = Math.min(c + reach, cols - 1);
    const north = Math.max(r - reach, 0);
    const south = Math.min(r + reach, rows - 1);
    let sum = 0;
    for (let j = north; j <= south; j++) for (let i = west; i <= east; i++) sum += heights[j * cols + i]!;
    out[k] = sum / ((east - west + 1) * (south - north + 1));
  }
}

/** Shade (0 void) at the nearest cell, or the mean of the known shades a pixel covers. */
export function shadesInto(
  shades: Uint8Array,
  cols: number,
  rows: number,
  cols0: Float64Array,
  rows0: Float64Array,
  reach: number,
  out: Uint8Array,
): void {
  for (let k = 0; k < out.length; k++) {
    const c = Math.round(cols0[k]!);
    const r = Math.round(rows0[k]!);
    if (!(c >= 0 && r >= 0 && c < cols && r < rows)) {
      out[k] = 0;
      continue;
    }
    if (reach === 0) {
      out[k] = shades[r * cols + c]!;
      continue;
    }
    const west = Math.max(c - reach, 0);
    const east = Math.min(c + reach, cols - 1);
    const north = Math.max(r - reach, 0);
    const south = Math.min(r + reach, rows - 1);
    let sum = 0;
    let known = 0;
    for (let j = north; j <= south; j++)
      for (let i = west; i <= east; i++) {
        const shade = shades[j * cols + i]!;
        if (shade === 0) continue;
        sum += shade;
        known++;
      }
    out[k] = known === 0 ? 0 : sum / known + 0.5;
  }
}
