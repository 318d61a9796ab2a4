/**
 * Cells whose centre lies inside a polygon, by the even-odd rule over all its rings, one row at a time.
 * A centre on a left edge counts, on a right edge not, so that polygons side by side share no cell.
 * @param xs, ys    all rings' corners one after another, in fractional columns and rows of the grid
 * @param ends      index one past each ring's last corner; rings are closed (first = last)
 * @param crossings scratch, at least as long as the corners
 * @param out       filled with cell indexes
 * @returns number of cells, or −1 when `out` is too short
 */
export function cellsInside(
  xs: Float64Array,
  ys: Float64Array,
  ends: Uint32Array,
  cols: number,
  rows: number,
  crossings: Float64Array,
  out: Uint32Array,
): number {
  let top = Number.POSITIVE_INFINITY;
  let bottom = Number.NEGATIVE_INFINITY;
  const corners = ends.length === 0 ? 0 : ends[ends.length - 1]!;
  for (let k = 0; k < corners; k++) {
    if (ys[k]! < top) top = ys[k]!;
    if (ys[k]! > bottom) bottom = ys[k]!;
  }
  const first = Math.max(0, Math.ceil(top));
  const last = Math.min(rows - 1, Math.floor(bottom));
  let count = 0;
  for (let row = first; row <= last; row++) {
    let n = 0;
    let from = 0;
    for (let e = 0; e < ends.length; e++) {
      const end = ends[e]!;
      for (let k = from; k + 1 < end; k++) {
        const y0 = ys[k]!;
        const y1 = ys[k + 1]!;
        if (y0 <= row === y1 <= row) continue;
        crossings[n++] = xs[k]! + ((row - y0) / (y1 - y0)) * (xs[k + 1]! - xs[k]!);
      }
      from = end;
    }
    for (let i = 1; i < n; i++) {
      const v = crossings[i]!;
      let j = i - 1;
      for (; j >= 0 && crossings[j]! > v; j--) crossings[j + 1] = crossings[j]!;
      crossings[j + 1] = v;
    }
    for (let i = 0; i + 1 < n; i += 2) {
      const c0 = Math.max(0, Math.ceil(crossings[i]!));
      const c1 = Math.min(cols - 1, Math.ceil(crossings[i + 1]!) - 1);
      for (let c = c0; c <= c1; c++) {
        if (count >= out.length) return -1;
        out[count++] = row * cols + c;
      }
    }
  }
  return count;
}
