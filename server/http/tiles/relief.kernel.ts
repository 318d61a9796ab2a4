/**
 * Shaded relief of heights: 1 (dark) to 255 (light), 0 where any of the nine heights is void.
 * Horn's gradient (third-order finite difference over 3 × 3), light from azimuth and altitude, no exaggeration.
 * @param heights  row-major, m, NaN void; row 0 north
 * @param out      filled; same size; the outermost ring repeats its inner neighbour's heights outward
 * Source: B. K. P. Horn, "Hill shading and the reflectance map", Proc. IEEE 69 (1981) 14–47.
 */
export function reliefInto(
  heights: Float32Array,
  cols: number,
  rows: number,
  cellM: number,
  azimuthDeg: number,
  altitudeDeg: number,
  out: Uint8Array,
): void {
  const altitude = (altitudeDeg * Math.PI) / 180;
  const azimuth = (azimuthDeg * Math.PI) / 180;
  const sinAlt = Math.sin(altitude);
  // Components of the light's direction over the ground, east and north.
  const eastLight = Math.cos(altitude) * Math.sin(azimuth);
  const northLight = Math.cos(altitude) * Math.cos(azimuth);
  const scale = 1 / (8 * cellM);
  for (let row = 0; row < rows; row++) {
    const up = Math.max(row - 1, 0) * cols;
    const at = row * cols;
    const down = Math.min(row + 1, rows - 1) * cols;
    for (let col = 0; col < cols; col++) {
      const w = Math.max(col - 1, 0);
      const e = Math.min(col + 1, cols - 1);
      const a = heights[up + w]!;
      const b = heights[up + col]!;
      const c = heights[up + e]!;
      const d = heights[at + w]!;
      const f = heights[at + e]!;
      const g = heights[down + w]!;
      const h = heights[down + col]!;
      const i = heights[down + e]!;
      const eastSlope = (c + 2 * f + i - (a + 2 * d + g)) * scale;
      const northSlope = (a + 2 * b + c - (g + 2 * h + i)) * scale;
      const lit =
        (sinAlt - eastSlope * eastLight - northSlope * northLight) /
        Math.sqrt(1 + eastSlope * eastSlope + northSlope * northSlope);
      // NaN fails the comparison and stays 0. The height of the cell itself is not in Horn's gradient: ask it too.
      out[at + col] = lit > -2 && heights[at + col]! > -1e9 ? 1 + 254 * Math.max(lit, 0) + 0.5 : 0;
    }
  }
}
