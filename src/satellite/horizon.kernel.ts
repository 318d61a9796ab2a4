// biome-ignore-all lint/suspicious/noSelfCompare: the cheapest test for NaN in a hot loop

/**
 * Horizon of one place: along each azimuth the greatest tangent of elevation of a grid's values.
 *
 * @param values    heights, m, row-major, row 0 north; NaN is skipped
 * @param mode      0: bilinear between cell centres; 1: the cell's own value (columns, pooled grids)
 * @param sinCos    sin and cos of every grid azimuth, in pairs
 * @param eyeCol    place in fractional columns and rows (whole numbers are centres)
 * @param eyeM      eye height, same datum as the values, m
 * @param fromM     first distance looked at, m
 * @param toM       last distance, m
 * @param stepM     spacing, m
 * @param earthM    effective Earth radius, m
 * @param most      greatest value of the grid: what bounds how far it is worth looking
 * @param tangent   receives the greatest tangent (keeps its value where nothing is higher)
 * @param distance  receives the distance of that, m
 * @param voidAt    receives the distance of the nearest void met, m (keeps its value where none is nearer)
 */
export function horizonRays(
  values: Float32Array,
  cols: number,
  rows: number,
  cellM: number,
  mode: number,
  sinCos: Float64Array,
  eyeCol: number,
  eyeRow: number,
  eyeM: number,
  fromM: number,
  toM: number,
  stepM: number,
  earthM: number,
  most: number,
  tangent: Float64Array,
  distance: Float64Array,
  voidAt: Float64Array,
): void {
  const count = tangent.length;
  const bend = 1 / (2 * earthM);
  const lastCol = cols - 1;
  const lastRow = rows - 1;
  for (let n = 0; n < count; n++) {
    const dCol = sinCos[2 * n]! / cellM;
    const dRow = -sinCos[2 * n + 1]! / cellM;
    let best = tangent[n]!;
    let at = distance[n]!;
    for (let d = fromM; d <= toM; d += stepM) {
      const col = eyeCol + d * dCol;
      const row = eyeRow + d * dRow;
      if (!(col >= -0.5 && row >= -0.5 && col <= lastCol + 0.5 && row <= lastRow + 0.5)) break;
      // Nothing this far off can rise above what is there already.
      if (most - eyeM - d * d * bend < best * d) break;
      let z: number;
      if (mode === 1) {
        z = values[Math.min(lastRow, Math.round(row)) * cols + Math.min(lastCol, Math.round(col))]!;
      } else {
        let c = col | 0;
        let r = row | 0;
        if (c >= lastCol) c = lastCol > 0 ? lastCol - 1 : 0;
        if (r >= lastRow) r = lastRow > 0 ? lastRow - 1 : 0;
        const fc = col < 0 ? 0 : col > lastCol ? 1 : col - c;
        const fr = row < 0 ? 0 : row > lastRow ? 1 : row - r;
        const i = r * cols + c;
        const top = values[i]! + (values[i + 1]! - values[i]!) * fc;
        z = top + (values[i + cols]! + (values[i + cols + 1]! - values[i + cols]!) * fc - top) * fr;
      }
      const t = (z - eyeM) / d - d * bend;
      if (t > best) {
        best = t;
        at = d;
      } else if (z !== z && d < voidAt[n]!) voidAt[n] = d;
    }
    tangent[n] = best;
    distance[n] = at;
  }
}
