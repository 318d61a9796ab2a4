import type { LinkConstants } from "./link-constants.ts";
import { bullingtonDb, edgeLossDb, sphereExcessDb } from "./sphere.kernel.ts";
import type { SweepOut, SweepTerrain } from "./types.ts";

const DB10 = 10 / Math.LN10;
const DEGREES = 180 / Math.PI;
/** (17.456/√1000)² of P.526 eq. (25), metres. */
const NEEDED2 = (17.456 * 17.456) / 1000;

/** Numbers of one path in a batch: column, row and antenna height (m AMSL) of the near end, then of the far end. */
export const PATH_NUMBERS = 6;

/**
 * Bilinear height where a neighbour of no weight may be void: such a neighbour does not make the value void.
 * The fast form in the loop falls back on this one when it meets NaN.
 */
function bilinearBesideVoid(
  values: Float32Array,
  at: number,
  right: number,
  down: number,
  fc: number,
  fr: number,
): number {
  const a = values[at]!;
  const b = values[at + right]!;
  const c = values[at + down]!;
  const d = values[at + right + down]!;
  const upper = fc === 0 ? a : fc === 1 ? b : a + (b - a) * fc;
  const lower = fc === 0 ? c : fc === 1 ? d : c + (d - c) * fc;
  return fr === 0 ? upper : fr === 1 ? lower : upper + (lower - upper) * fr;
}

/**
 * One path of a batch: bilinear sampling and delta-Bullington in one pass, a second pass over the samples only when the
 * ends see each other.
 *
 * Samples stand at equal spacing, as many as cells lie between the ends along the longer axis; between two cell centres
 * they are the line's crossings of the columns (or rows), so that the path is a sweep's ray exactly. Obstacles in the
 * cells of the two ends do not count.
 *
 * @param path  which path: `paths` holds PATH_NUMBERS numbers for each, `out` one value for each
 * @param top   scratch for the samples
 * Writes NaN for an end that is off the grid or on a void.
 * Source: Rec. ITU-R P.526-15 §4.5, P.525-4.
 */
export function profileLoss(
  terrain: SweepTerrain,
  link: LinkConstants,
  paths: Float64Array,
  path: number,
  top: Float64Array,
  out: SweepOut,
): void {
  const { cols, rows, cellM, groundM, obstacleM } = terrain;
  const sameSurface = groundM === obstacleM;
  const p = path * PATH_NUMBERS;
  const col0 = paths[p]!;
  const row0 = paths[p + 1]!;
  const zeroM = paths[p + 2]!;
  const col1 = paths[p + 3]!;
  const row1 = paths[p + 4]!;
  const height = paths[p + 5]! - zeroM;
  out.lossDb[path] = Number.NaN;
  if (out.elevationDeg !== null) out.elevationDeg[path] = Number.NaN;
  if (out.unknownShare !== null) out.unknownShare[path] = 0;
  if (out.lineOfSight !== null) out.lineOfSight[path] = 0;
  const right = cols - 1;
  const bottom = rows - 1;
  if (!(col0 >= 0 && row0 >= 0 && col1 >= 0 && row1 >= 0)) return;
  if (!(col0 <= right && row0 <= bottom && col1 <= right && row1 <= bottom)) return;

  const dc = col1 - col0;
  const dr = row1 - row0;
  const n = Math.max(1, Math.ceil(Math.max(Math.abs(dc), Math.abs(dr)) - 1e-9));
  const distance = Math.sqrt(dc * dc + dr * dr) * cellM;
  const stepM = distance / n;
  const perStep = 1 / n;
  const bulge = (stepM * stepM) / (2 * link.radiusM);
  const lowered = height - bulge * n * n;
  const tilt = lowered / n;
  const tiltFlat = height / n;
  const lastCol = Math.max(cols - 2, 0);
  const lastRow = Math.max(rows - 2, 0);
  const toRight = cols > 1 ? 1 : 0;
  const toDown = rows > 1 ? cols : 0;
  // The two ends' own cells.
  const nearCol = Math.round(col0);
  const nearRow = Math.round(row0);
  const farCol = Math.round(col1);
  const farRow = Math.round(row1);

  let steepest = Number.NEGATIVE_INFINITY;
  let slopeBack = Number.NEGATIVE_INFINITY;
  let alphaT = 0;
  let alphaR = 0;
  let above = 0;
  let sum1 = 0;
  let sum2 = 0;
  let voids = 0;
  let before = 0;
  let heldTop = 0;
  let ground0 = 0;
  let groundN = 0;
  for (let j = 0; j <= n; j++) {
    const col = col0 + dc * j * perStep;
    const row = row0 + dr * j * perStep;
    const c = Math.min(col | 0, lastCol);
    const r = Math.min(row | 0, lastRow);
    const fc = col - c;
    const fr = row - r;
    const at = r * cols + c;
    const a = groundM[at]!;
    const b = groundM[at + toDown]!;
    const upper = a + (groundM[at + toRight]! - a) * fc;
    let g = upper + (b + (groundM[at + toRight + toDown]! - b) * fc - upper) * fr;
    if (Number.isNaN(g)) g = bilinearBesideVoid(groundM, at, toRight, toDown, fc, fr);
    g -= zeroM;
    if (j === 0 || j === n) {
      if (Number.isNaN(g)) return;
      if (j === 0) {
        ground0 = g;
        heldTop = g;
        before = g;
        continue;
      }
      groundN = g;
    } else {
      let s = g;
      if (!sameSurface) {
        const sa = obstacleM[at]!;
        const sb = obstacleM[at + toDown]!;
        const su = sa + (obstacleM[at + toRight]! - sa) * fc;
        s = su + (sb + (obstacleM[at + toRight + toDown]! - sb) * fc - su) * fr;
        if (Number.isNaN(s)) s = bilinearBesideVoid(obstacleM, at, toRight, toDown, fc, fr);
        s -= zeroM;
        if (j === 1 || j === n - 1) {
          const sc = Math.round(col);
          const sr = Math.round(row);
          if ((sc === nearCol && sr === nearRow) || (sc === farCol && sr === farRow)) s = g;
        }
      }
      if (Number.isNaN(g - s)) {
        voids++;
        if (Number.isNaN(g)) g = before;
        if (Number.isNaN(s)) s = heldTop;
      }
      heldTop = s;
      const z = s - bulge * j * j;
      top[j] = z;
      const back = n - j;
      if (z > steepest * j) steepest = z / j;
      const t = z - lowered;
      if (t > slopeBack * back) slopeBack = t / back;
      const h = g - tiltFlat * j;
      if (h > above) above = h;
      if (h > alphaT * j) alphaT = h / j;
      if (h > alphaR * back) alphaR = h / back;
    }
    sum1 += g + before;
    sum2 += g * (3 * j - 1) + before * (3 * j - 2);
    before = g;
  }

  const kappa = 2 / (link.lambdaM * stepM);
  const clear = !(steepest >= tilt);
  let edgeDb = 0;
  if (!clear) {
    const both = steepest + slopeBack;
    const at = (lowered + slopeBack * n) / both;
    edgeDb = edgeLossDb(both > 0 ? (steepest - tilt) * Math.sqrt((kappa * n * at) / (n - at)) : 0);
  } else {
    slopeBack = -tilt;
    let q = (0.78 * 0.78) / (kappa * n);
    let capped = true;
    for (let j = 1; j < n; j++) {
      const u = tilt * j - top[j]!;
      const w = j * (n - j);
      if (u * u < q * w) {
        q = (u * u) / w;
        capped = false;
      }
    }
    if (!capped) edgeDb = edgeLossDb(-Math.sqrt(kappa * n * q));
  }
  let loss = edgeDb > 0 ? bullingtonDb(edgeDb, distance * 0.001) : 0;
  let smooth1 = (2 * sum1 * n - sum2) * perStep * perStep;
  let smooth2 = (sum2 - sum1 * n) * perStep * perStep;
  if (above > 0) {
    smooth1 -= (above * alphaT) / (alphaT + alphaR);
    smooth2 -= (above * alphaR) / (alphaT + alphaR);
  }
  const h1 = -Math.min(smooth1, ground0);
  const h2 = height - Math.min(smooth2, groundN);
  if (!(2 * Math.sqrt(h1 * h2) - 0.5 * bulge * n * n > Math.sqrt(NEEDED2 * link.lambdaM * distance)))
    loss += sphereExcessDb(link, n, stepM, h1, h2);
  out.lossDb[path] = loss + link.freeSpaceDb + DB10 * Math.log(distance * distance + height * height);
  if (out.elevationDeg !== null)
    out.elevationDeg[path] = DEGREES * Math.atan(slopeBack / stepM - distance / link.radiusM);
  if (out.lineOfSight !== null) out.lineOfSight[path] = clear ? 1 : 0;
  if (out.unknownShare !== null && voids > 0) out.unknownShare[path] = Math.ceil((100 * voids) / (n - 1));
}
