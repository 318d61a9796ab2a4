// biome-ignore-all lint/suspicious/noSelfCompare: the cheapest test for NaN in a hot loop

/**
 * Horizon of every cell in one direction: along lines towards the satellite the upper hull of what was passed is kept, and
 * from each cell the tangent to it is taken. Heights are bent by the effective Earth radius as they come in.
 *
 * Lines run across rows ("major" index, counted from the satellite's side) and drift sideways; cell (major i, minor j) lies
 * at start + i·majorStride + j·minorStride in `tops`, `eyes` and `out`.
 *
 * @param tops    heights of what hides, m; NaN hides nothing
 * @param eyes    eye heights, m; NaN: no answer wanted there (out keeps its value)
 * @param minors  cells across it
 * @param runM    horizontal distance of one major step along the line, m
 * @param shift   per major, sideways travel of the line from the major before, cells
 * @param ahead   where on a cell its height stands, in major steps towards the observer
 * @param wide    1: a line carries the taller of the two cells beside it and a cell takes the worse of its two lines (safe
 *   side; fill `out` with −1e9); 0: both are blended by distance (fill `out` with 0)
 * @param earthM  effective Earth radius, m
 * @param firstLine  number of the first line, in minor cells at major 0
 * @param lastMajor  per line, the last major row with an answer wanted; −1: the line is not walked
 * @param hullX   scratch for hull distances, at least the majors + 2
 * @param hullZ   scratch for hull heights, at least the majors + 2
 * @param out     receives the greatest tangent of elevation of the horizon from each cell
 */
export function horizonMap(
  tops: Float32Array,
  eyes: Float32Array,
  minors: number,
  start: number,
  majorStride: number,
  minorStride: number,
  runM: number,
  shift: Float64Array,
  ahead: number,
  wide: number,
  earthM: number,
  firstLine: number,
  lastMajor: Int32Array,
  hullX: Float64Array,
  hullZ: Float64Array,
  out: Float32Array,
): void {
  for (let n = 0; n < lastMajor.length; n++) {
    const end = lastMajor[n]!;
    if (end < 0) continue;
    const line = firstLine + n;
    let size = 0;
    let travel = 0;
    for (let i = 0; i <= end; i++) {
      if (i > 0) travel += shift[i]!;
      const p = line + travel;
      const j = Math.floor(p);
      if (j < -1 || j >= minors) {
        // Lines drift one way: once past the far side nothing more comes.
        continue;
      }
      const part = p - j;
      const x = i * runM;
      const at = start + i * majorStride + j * minorStride;
      const bend = (x * x) / (2 * earthM);
      const tilt = x / earthM;
      let zLeft = Number.NaN;
      let zRight = Number.NaN;
      if (j >= 0) {
        zLeft = tops[at]!;
        const eye = eyes[at]!;
        if (eye === eye) {
          // A line with nothing on it yet looks steeply down.
          const t = size > 0 ? tangent(hullX, hullZ, size, x, eye - bend) - tilt : -1;
          if (wide === 0) out[at] = out[at]! + (1 - part) * t;
          else if (t > out[at]!) out[at] = t;
        }
      }
      if (part > 0 && j + 1 < minors) {
        const next = at + minorStride;
        zRight = tops[next]!;
        const eye = eyes[next]!;
        if (eye === eye) {
          const t = size > 0 ? tangent(hullX, hullZ, size, x, eye - bend) - tilt : -1;
          if (wide === 0) out[next] = out[next]! + part * t;
          else if (t > out[next]!) out[next] = t;
        }
      }
      let z: number;
      if (wide === 1) z = zLeft > zRight || zRight !== zRight ? zLeft : zRight;
      else if (zRight !== zRight) z = zLeft;
      else if (zLeft !== zLeft) z = zRight;
      else z = zLeft + (zRight - zLeft) * part;
      if (z === z) {
        const hx = x + ahead * runM;
        const hz = z - (hx * hx) / (2 * earthM);
        // The last vertex goes while it lies on or under the new chord.
        while (size >= 2) {
          const x1 = hullX[size - 2]!;
          const z1 = hullZ[size - 2]!;
          if ((hullZ[size - 1]! - z1) * (hx - x1) > (hz - z1) * (hullX[size - 1]! - x1)) break;
          size--;
        }
        hullX[size] = hx;
        hullZ[size] = hz;
        size++;
      }
    }
  }
}

/** Greatest slope from (x, z) back to the hull: slopes rise to one maximum along it. */
function tangent(hullX: Float64Array, hullZ: Float64Array, size: number, x: number, z: number): number {
  let low = 0;
  let high = size - 1;
  // Few vertices or a near horizon: walk back from the newest; long hulls are halved.
  if (high > 12) {
    while (high - low > 4) {
      const mid = (low + high) >> 1;
      const here = (hullZ[mid]! - z) / (x - hullX[mid]!);
      const next = (hullZ[mid + 1]! - z) / (x - hullX[mid + 1]!);
      if (next >= here) low = mid + 1;
      else high = mid;
    }
  }
  let best = (hullZ[high]! - z) / (x - hullX[high]!);
  for (let n = high - 1; n >= low; n--) {
    const t = (hullZ[n]! - z) / (x - hullX[n]!);
    if (t > best) best = t;
    else break;
  }
  return best;
}
