/**
 * Shadow-height sweep: rows are visited from the satellite's side; along lines towards the satellite the height below which
 * the satellite is hidden falls by `drop` per row. All arrays are row-major with the rows running across the satellite's direction.
 *
 * @param z       heights of what hides, rows × cols; NaN hides nothing (voids are swept apart)
 * @param cols    cells per row
 * @param rows    rows
 * @param first   row nearest the satellite (0 or rows − 1); the sweep goes to the other end
 * @param drop    per row, fall of the shadow from the row before it, m (cell ÷ |cos| × tan of the elevation there)
 * @param shift   per row, sideways travel of the lines from the row before it, cells (any sign)
 * @param ahead   where on a cell its height stands, in cells towards the observer: 0 centre, 0.5 near edge
 * @param wide    1: a line carries the taller of the two cells beside it, and voids beside a height do not hide it
 *   (safe side); 0: their blend, NaN as soon as one of them is
 * @param line    scratch, at least cols + (rows − 1)·|shift| + 8 long
 * @param out     receives per cell the height of the shadow there, m (very low where nothing hides)
 * Each cell blends the two lines beside it. A line that comes in from the side carries no shadow.
 */
export function shadowSweep(
  z: Float32Array,
  cols: number,
  rows: number,
  first: number,
  drop: Float64Array,
  shift: Float64Array,
  ahead: number,
  wide: number,
  line: Float32Array,
  out: Float32Array,
): void {
  const step = first === 0 ? 1 : -1;
  let travel = 0;
  let most = 0;
  for (let n = 1; n < rows; n++) {
    travel += shift[first + n * step]!;
    if (travel > most) most = travel;
  }
  // Line k stands at column k + travel; the scratch holds line k at k − lowest.
  const lowest = -Math.ceil(most) - 2;
  line.fill(-1e9);
  travel = 0;
  for (let n = 0; n < rows; n++) {
    const row = first + n * step;
    if (n > 0) travel += shift[row]!;
    const whole = Math.floor(travel);
    const part = travel - whole;
    const rest = 1 - part;
    const fall = n === 0 ? 0 : drop[row]!;
    const up = ahead * drop[row]!;
    const base = row * cols;
    // Line of column position c + part has index c − whole.
    let at = -whole - lowest;
    let before = line[at - 1]! - fall;
    // The line half outside on the left.
    const z00 = z[base]!;
    line[at - 1] = before;
    if (part > 0 && z00 + up > before) line[at - 1] = z00 + up;
    const last = cols - 1;
    let z0 = z00;
    if (wide === 0)
      for (let c = 0; c < last; c++) {
        const here = line[at]! - fall;
        const z1 = z[base + c + 1]!;
        out[base + c] = part * before + rest * here;
        const top = rest * z0 + part * z1 + up;
        line[at] = top > here ? top : here;
        before = here;
        z0 = z1;
        at++;
      }
    else
      for (let c = 0; c < last; c++) {
        const here = line[at]! - fall;
        const z1 = z[base + c + 1]!;
        out[base + c] = before > here ? before : here;
        // A comparison with NaN is false, so a void never takes the place of a height.
        let top = z0 + up > here ? z0 + up : here;
        if (part > 0 && z1 + up > top) top = z1 + up;
        line[at] = top;
        before = here;
        z0 = z1;
        at++;
      }
    const here = line[at]! - fall;
    out[base + last] = part * before + rest * here;
    line[at] = z0 + up > here ? z0 + up : here;
  }
}

/** Transpose in tiles, so that neither side jumps a page per cell: rows × cols in, cols × rows out. */
export function transpose(from: Float32Array, cols: number, rows: number, to: Float32Array): void {
  const tile = 32;
  for (let r0 = 0; r0 < rows; r0 += tile) {
    const r1 = Math.min(rows, r0 + tile);
    for (let c0 = 0; c0 < cols; c0 += tile) {
      const c1 = Math.min(cols, c0 + tile);
      for (let c = c0; c < c1; c++) {
        const o = c * rows;
        for (let r = r0; r < r1; r++) to[o + r] = from[r * cols + c]!;
      }
    }
  }
}
