/**
 * Delta-Bullington diffraction over a profile, without allocation.
 * Arrays: distances km from the first terminal (first 0, strictly rising), heights m AMSL; `n` is the count of points used.
 * A void (NaN) anywhere in the profile makes the result NaN. Nothing here throws.
 * Source: Rec. ITU-R P.526-15 §3.2 (smooth Earth), §4.5 (delta-Bullington); the same text as Rec. ITU-R P.1812-6 §4.3
 * and P.452-17 §4.2. Equation numbers are those of P.1812-6.
 */

/** Slots of the result array. */
export const DELTA = {
  Ld: 0,
  Lbulla: 1,
  Lbulls: 2,
  Ldsph: 3,
  hst: 4,
  hsr: 5,
  hstd: 6,
  hsrd: 7,
  htep: 8,
  hrep: 9,
} as const;
export const DELTA_SLOTS = 10;

const LAND_EPS = 22;
const LAND_SIGMA = 0.003;
const SEA_EPS = 80;
const SEA_SIGMA = 5;

/** Knife-edge loss, dB (P.526 eq. 31). Kept here so that the loop below inlines it. */
export function edgeLoss(nu: number): number {
  if (nu <= -0.78) return 0;
  const a = nu - 0.1;
  return 6.9 + 20 * Math.log10(Math.sqrt(a * a + 1) + a);
}

/** Bullington loss from the loss of its single edge, dB (eq. 21). */
export function bullingtonFromEdge(edgeDb: number, distanceKm: number): number {
  return edgeDb + (1 - Math.exp(-edgeDb / 6)) * (10 + 0.02 * distanceKm);
}

/**
 * Bullington loss of a profile.
 * @param g        heights that block, m AMSL (ground plus clutter); the first and last are not looked at
 * @param htsM, hrsM antenna heights, m AMSL
 * @param radiusKm effective Earth radius, km
 * @param lambdaM  wavelength, m
 * @returns loss, dB; NaN where a point between the ends is void (eq. 13–21)
 */
export function bullingtonLoss(
  d: Float64Array,
  g: Float64Array,
  n: number,
  htsM: number,
  hrsM: number,
  radiusKm: number,
  lambdaM: number,
): number {
  const last = n - 1;
  const D = d[last]!;
  const bulge = 500 / radiusKm;
  let slopeT = Number.NEGATIVE_INFINITY;
  let slopeR = Number.NEGATIVE_INFINITY;
  let sum = 0;
  for (let i = 1; i < last; i++) {
    const di = d[i]!;
    const ri = D - di;
    const top = g[i]! + bulge * di * ri;
    sum += top;
    const t = top - htsM;
    if (t > slopeT * di) slopeT = t / di;
    const r = top - hrsM;
    if (r > slopeR * ri) slopeR = r / ri;
  }
  return bullingtonFromSlopes(d, g, n, htsM, hrsM, radiusKm, lambdaM, slopeT, slopeR) + sum * 0;
}

/** Second half of the Bullington construction, once the greatest slopes seen from both ends are known. */
export function bullingtonFromSlopes(
  d: Float64Array,
  g: Float64Array,
  n: number,
  htsM: number,
  hrsM: number,
  radiusKm: number,
  lambdaM: number,
  slopeT: number,
  slopeR: number,
): number {
  const last = n - 1;
  const D = d[last]!;
  let nu: number;
  if (slopeT < (hrsM - htsM) / D) {
    // In sight: the point of greatest ν. Squares with their sign keep the order and spare the root.
    const bulge = 500 / radiusKm;
    const tilt = (hrsM - htsM) / D;
    let best = Number.NEGATIVE_INFINITY;
    for (let i = 1; i < last; i++) {
      const di = d[i]!;
      const product = di * (D - di);
      const above = g[i]! + bulge * product - htsM - tilt * di;
      const q = above * Math.abs(above);
      if (q > best * product) best = q / product;
    }
    const scale = (0.002 * D) / lambdaM;
    nu = best < 0 ? -Math.sqrt(-best * scale) : Math.sqrt(best * scale);
  } else {
    const at = (hrsM - htsM + slopeR * D) / (slopeT + slopeR);
    const above = htsM + slopeT * at - (htsM * (D - at) + hrsM * at) / D;
    nu = above * Math.sqrt((0.002 * D) / (lambdaM * at * (D - at)));
  }
  return bullingtonFromEdge(edgeLoss(nu), D);
}

/** Index of the last point whose distance is not above `x`; at least 0. */
function indexBelow(d: Float64Array, n: number, x: number): number {
  let low = 0;
  let high = n - 1;
  while (high - low > 1) {
    const mid = (low + high) >> 1;
    if (d[mid]! <= x) low = mid;
    else high = mid;
  }
  return low;
}

/**
 * Bullington loss of the smooth profile: zero heights at the same points. Over a smooth Earth both slopes and ν rise to one
 * maximum along the path, so the greatest sample is found by halving instead of walking.
 * @param h1M, h2M antenna heights above the smooth surface, m
 * @returns loss, dB
 */
export function smoothBullingtonLoss(
  d: Float64Array,
  n: number,
  h1M: number,
  h2M: number,
  radiusKm: number,
  lambdaM: number,
): number {
  const last = n - 1;
  const D = d[last]!;
  if (last < 2) return 0 * (h1M + h2M);
  const bulge = 500 / radiusKm;
  // bulge·(D − x) − h1/x is greatest at x = √(h1/bulge); the greatest sample is one of its two neighbours.
  let i = indexBelow(d, n, Math.sqrt(Math.max(h1M, 0) / bulge));
  i = Math.min(Math.max(i, 1), last - 1);
  let x = d[i]!;
  let slopeT = bulge * (D - x) - h1M / x;
  if (i + 1 < last) {
    x = d[i + 1]!;
    slopeT = Math.max(slopeT, bulge * (D - x) - h1M / x);
  }
  let nu: number;
  if (slopeT < (h2M - h1M) / D) {
    const tilt = (h2M - h1M) / D;
    let low = 1;
    let high = last - 1;
    while (low < high) {
      const mid = (low + high) >> 1;
      const a = d[mid]!;
      const b = d[mid + 1]!;
      const pa = a * (D - a);
      const pb = b * (D - b);
      const va = bulge * pa - h1M - tilt * a;
      const vb = bulge * pb - h1M - tilt * b;
      // ν(a) < ν(b), with the signed squares cross-multiplied
      if (va * Math.abs(va) * pb < vb * Math.abs(vb) * pa) low = mid + 1;
      else high = mid;
    }
    const at = d[low]!;
    const product = at * (D - at);
    nu = (bulge * product - h1M - tilt * at) * Math.sqrt((0.002 * D) / (lambdaM * product));
  } else {
    i = indexBelow(d, n, D - Math.sqrt(Math.max(h2M, 0) / bulge));
    i = Math.min(Math.max(i, 1), last - 1);
    let y = D - d[i]!;
    let slopeR = bulge * (D - y) - h2M / y;
    if (i + 1 < last) {
      y = D - d[i + 1]!;
      slopeR = Math.max(slopeR, bulge * (D - y) - h2M / y);
    }
    const at = (h2M - h1M + slopeR * D) / (slopeT + slopeR);
    const above = h1M + slopeT * at - (h1M * (D - at) + h2M * at) / D;
    nu = above * Math.sqrt((0.002 * D) / (lambdaM * at * (D - at)));
  }
  return bullingtonFromEdge(edgeLoss(nu), D);
}

/**
 * First term of the residue series over one kind of ground (eq. 29–36).
 * @param vertical 1 vertical, 0 horizontal polarization
 * @returns loss, dB; may be negative
 */
export function firstTermLoss(
  eps: number,
  sigma: number,
  dKm: number,
  h1M: number,
  h2M: number,
  radiusKm: number,
  fGHz: number,
  vertical: number,
): number {
  const e = eps - 1;
  const s = (18 * sigma) / fGHz;
  let K = (0.036 * Math.sqrt(1 / Math.sqrt(e * e + s * s))) / Math.cbrt(radiusKm * fGHz);
  if (vertical === 1) K *= Math.sqrt(eps * eps + s * s);
  const K2 = K * K;
  const K4 = K2 * K2;
  const beta = (1 + 1.6 * K2 + 0.67 * K4) / (1 + 4.5 * K2 + 1.53 * K4);
  const X = 21.88 * beta * Math.cbrt(fGHz / (radiusKm * radiusKm)) * dKm;
  const y = 0.9575 * beta * beta * Math.cbrt((fGHz * fGHz) / radiusKm);
  const FX = X >= 1.6 ? 11 + 10 * Math.log10(X) - 17.6 * X : -20 * Math.log10(X) - 5.6488 * X ** 1.425;
  const floor = 2 + 20 * Math.log10(K);
  return -FX - heightGain(y * h1M, floor) - heightGain(y * h2M, floor);
}

function heightGain(B: number, floor: number): number {
  if (B > 2) {
    const b = B - 1.1;
    return Math.max(17.6 * Math.sqrt(b) - 5 * Math.log10(b) - 8, floor);
  }
  return Math.max(20 * Math.log10(B + 0.1 * B * B * B), floor);
}

/** First term over a path that is partly sea (eq. 28). */
function mixedFirstTerm(
  dKm: number,
  h1M: number,
  h2M: number,
  radiusKm: number,
  fGHz: number,
  vertical: number,
  seaFraction: number,
): number {
  if (seaFraction <= 0) return firstTermLoss(LAND_EPS, LAND_SIGMA, dKm, h1M, h2M, radiusKm, fGHz, vertical);
  const sea = firstTermLoss(SEA_EPS, SEA_SIGMA, dKm, h1M, h2M, radiusKm, fGHz, vertical);
  if (seaFraction >= 1) return sea;
  const land = firstTermLoss(LAND_EPS, LAND_SIGMA, dKm, h1M, h2M, radiusKm, fGHz, vertical);
  return seaFraction * sea + (1 - seaFraction) * land;
}

/**
 * Diffraction over a smooth spherical Earth at any distance (eq. 22–27).
 * @param h1M, h2M antenna heights above the smooth surface, m, >= 0
 * @returns loss, dB; beyond the horizon it may be negative for high antennas
 */
export function sphericalEarthLoss(
  dKm: number,
  h1M: number,
  h2M: number,
  radiusKm: number,
  fGHz: number,
  lambdaM: number,
  vertical: number,
  seaFraction: number,
): number {
  const los = Math.sqrt(2 * radiusKm) * (Math.sqrt(0.001 * h1M) + Math.sqrt(0.001 * h2M));
  if (!(dKm < los)) return mixedFirstTerm(dKm, h1M, h2M, radiusKm, fGHz, vertical, seaFraction);
  const sum = h1M + h2M;
  const c = (h1M - h2M) / sum;
  const m = (250 * dKm * dKm) / (radiusKm * sum);
  const m1 = m + 1;
  // Rounding may carry the cosine's argument a hair past ±1.
  const arg = Math.min(1, Math.max(-1, 1.5 * c * Math.sqrt((3 * m) / (m1 * m1 * m1))));
  const b = 2 * Math.sqrt(m1 / (3 * m)) * Math.cos(Math.PI / 3 + Math.acos(arg) / 3);
  const d1 = (dKm * (1 + b)) / 2;
  const d2 = dKm - d1;
  const clearance = ((h1M - (500 * d1 * d1) / radiusKm) * d2 + (h2M - (500 * d2 * d2) / radiusKm) * d1) / dKm;
  const needed = 17.456 * Math.sqrt((d1 * d2 * lambdaM) / dKm);
  if (clearance > needed) return 0;
  const root = Math.sqrt(h1M) + Math.sqrt(h2M);
  const grazing = 500 * (dKm / root) * (dKm / root);
  const full = mixedFirstTerm(dKm, h1M, h2M, grazing, fGHz, vertical, seaFraction);
  // Both factors are >= 0 in exact arithmetic; with one antenna on the surface `needed` is 0 and the ratio has no meaning.
  return needed > 0 ? Math.max(1 - clearance / needed, 0) * Math.max(full, 0) : Math.max(full, 0);
}

/**
 * Delta-Bullington loss of a profile in one walk over its points.
 * @param ground   bare ground, m AMSL: smooth surface
 * @param obstacle ground plus what stands on it, m AMSL: the actual-profile Bullington term only
 * @param fGHz     frequency, GHz
 * @param speed    speed of light as the calling Recommendation rounds it, 10⁸ m/s (3 or 2.998)
 * @param vertical 1 vertical, 0 horizontal
 * @param out      filled by DELTA slots
 */
export function deltaBullingtonInto(
  d: Float64Array,
  ground: Float64Array,
  obstacle: Float64Array,
  n: number,
  htsM: number,
  hrsM: number,
  radiusKm: number,
  fGHz: number,
  speed: number,
  vertical: number,
  seaFraction: number,
  out: Float64Array,
): void {
  const last = n - 1;
  const D = d[last]!;
  const lambdaM = (0.1 * speed) / fGHz;
  const bulge = 500 / radiusKm;
  const tilt = (hrsM - htsM) / D;
  let slopeT = Number.NEGATIVE_INFINITY;
  let slopeR = Number.NEGATIVE_INFINITY;
  let sum = 0;
  let v1 = 0;
  let v2 = 0;
  let alphaT = 0;
  let alphaR = 0;
  let highest = 0;
  let d0 = d[0]!;
  let h0 = ground[0]!;
  for (let i = 1; i < last; i++) {
    const di = d[i]!;
    const ri = D - di;
    const hi = ground[i]!;
    const top = obstacle[i]! + bulge * di * ri;
    sum += top;
    const t = top - htsM;
    if (t > slopeT * di) slopeT = t / di;
    const r = top - hrsM;
    if (r > slopeR * ri) slopeR = r / ri;
    const step = di - d0;
    v1 += step * (hi + h0);
    v2 += step * (hi * (2 * di + d0) + h0 * (di + 2 * d0));
    const above = hi - htsM - tilt * di;
    if (above > 0) {
      if (above > highest) highest = above;
      if (above > alphaT * di) alphaT = above / di;
      if (above > alphaR * ri) alphaR = above / ri;
    }
    d0 = di;
    h0 = hi;
  }
  const hn = ground[last]!;
  const step = D - d0;
  v1 += step * (hn + h0);
  v2 += step * (hn * (2 * D + d0) + h0 * (D + 2 * d0));
  const hst = (2 * v1 * D - v2) / (D * D);
  const hsr = (v2 - v1 * D) / (D * D);
  let hstd = hst;
  let hsrd = hsr;
  if (highest > 0) {
    hstd -= (highest * alphaT) / (alphaT + alphaR);
    hsrd -= (highest * alphaR) / (alphaT + alphaR);
  }
  hstd = Math.min(hstd, ground[0]!);
  hsrd = Math.min(hsrd, hn);
  const h1 = htsM - hstd;
  const h2 = hrsM - hsrd;
  const Lbulla = bullingtonFromSlopes(d, obstacle, n, htsM, hrsM, radiusKm, lambdaM, slopeT, slopeR) + sum * 0;
  const Lbulls = smoothBullingtonLoss(d, n, h1, h2, radiusKm, lambdaM);
  const Ldsph = sphericalEarthLoss(D, h1, h2, radiusKm, fGHz, lambdaM, vertical, seaFraction);
  out[DELTA.Ld] = Lbulla + Math.max(Ldsph - Lbulls, 0);
  out[DELTA.Lbulla] = Lbulla;
  out[DELTA.Lbulls] = Lbulls;
  out[DELTA.Ldsph] = Ldsph;
  out[DELTA.hst] = hst;
  out[DELTA.hsr] = hsr;
  out[DELTA.hstd] = hstd;
  out[DELTA.hsrd] = hsrd;
  out[DELTA.htep] = h1;
  out[DELTA.hrep] = h2;
}
