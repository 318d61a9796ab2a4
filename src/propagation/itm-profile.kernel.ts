/**
 * Irregular terrain model (Longley–Rice) 1.2.2: what the terrain profile gives: horizons, roughness, effective heights.
 * Source: NTIA reference implementation of the algorithm, version 1.4 (described by NTIA Report TR-82-100 and G. Hufford,
 * "The ITS Irregular Terrain Model, version 1.2.2: the algorithm"). Written from a description of the formulas, not from its code.
 * Heights m, distances m, angles rad. No allocation in the loops, nothing throws.
 */

/** Slots of the result array; symbols as in the model's papers (1 = first terminal, 2 = second). */
export const ITM_PARTS = [
  "A",
  "Afs",
  "Aref",
  "mode",
  "bits",
  "error",
  "hs",
  "Ns",
  "a",
  "ReZ",
  "ImZ",
  "theta1",
  "theta2",
  "L1",
  "L2",
  "H1",
  "H2",
  "dh",
  "S",
  "Th",
  "m",
  "c",
  "Vm",
  "d",
] as const;
export type ItmPart = (typeof ITM_PARTS)[number];
export const ITM_SLOTS = ITM_PARTS.length;
export const I = Object.fromEntries(ITM_PARTS.map((name, i) => [name, i])) as Record<ItmPart, number>;

const MOST_RESAMPLED = 245;
const resampled = new Float64Array(MOST_RESAMPLED + 1);
/** Value of a fitted line at the first and last sample. */
const line = new Float64Array(2);

/** Straight-line fit of the model: trapezoid mean, end samples of half weight (not ordinary least squares). */
function fitLine(z: Float64Array, n: number, step: number, x1: number, x2: number): void {
  let i = Math.trunc(Math.max(x1 / step, 0));
  let j = n - Math.trunc(Math.max(n - x2 / step, 0));
  if (j <= i) {
    i = Math.max(i - 1, 0);
    j = n - Math.max(n - (j + 1), 0);
  }
  const w = j - i;
  const c = (i + j) / 2;
  let mean = (z[i]! + z[j]!) / 2;
  let slope = (w / 2) * ((z[j]! - z[i]!) / 2);
  for (let q = i + 1; q < j; q++) {
    mean += z[q]!;
    slope += (q - c) * z[q]!;
  }
  mean /= w;
  slope = (12 * slope) / (w * (w * w + 2));
  line[0] = mean - slope * c;
  line[1] = mean + slope * (n - c);
}

/** The k-th smallest of the first `count` values (k from 0); reorders them. */
export function select(values: Float64Array, count: number, k: number): number {
  let low = 0;
  let high = count - 1;
  while (low < high) {
    const a = values[low]!;
    const b = values[(low + high) >> 1]!;
    const c = values[high]!;
    const pivot = Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i <= j) {
        const swap = values[i]!;
        values[i] = values[j]!;
        values[j] = swap;
        i++;
        j--;
      }
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else break;
  }
  return values[k]!;
}

/** Terrain irregularity between two distances: the interdecile range about a line, scaled to its asymptotic value. */
function irregularity(z: Float64Array, n: number, step: number, xa: number, xb: number): number {
  const alpha = xa / step;
  const beta = xb / step;
  if (beta - alpha < 2) return 0;
  const p = Math.min(Math.max(4, Math.trunc(0.1 * (beta - alpha + 8))), 25);
  const M = 10 * p - 5;
  const stride = (beta - alpha) / (M - 1);
  let k = Math.trunc(alpha) + 1;
  let u = alpha - k;
  for (let q = 0; q < M; q++) {
    while (u > 0 && k < n) {
      u -= 1;
      k++;
    }
    resampled[q] = z[k]! + (z[k]! - z[k - 1]!) * u;
    u += stride;
  }
  fitLine(resampled, M - 1, 1, 0, M - 1);
  const first = line[0]!;
  const slope = (line[1]! - first) / (M - 1);
  let sum = 0;
  for (let q = 0; q < M; q++) {
    const e = resampled[q]! - first - q * slope;
    sum += e;
    resampled[q] = e;
  }
  // Values that are not numbers cannot be put in order.
  if (!(sum - sum === 0)) return Number.NaN;
  const high = select(resampled, M, M - p);
  const low = select(resampled, M, p - 1);
  return (high - low) / (1 - 0.8 * Math.exp(-(xb - xa) / 50_000));
}

/** Reduction of a smooth-Earth horizon distance by roughness. */
export function horizonFactor(dh: number, H: number): number {
  return Math.exp(-0.07 * Math.sqrt(dh / Math.max(H, 5)));
}

/** Mean height of the middle of the profile, m AMSL. */
export function meanHeight(z: Float64Array, n: number): number {
  const m = Math.trunc(0.1 * n);
  let sum = 0;
  for (let i = m; i <= n - m; i++) sum += z[i]!;
  return sum / (n - 2 * m + 1);
}

/**
 * Horizons, irregularity and effective heights of a profile.
 * @param z    ground heights, m AMSL, n + 1 values at equal steps
 * @param n    count of intervals
 * @param step m
 * @param h1, h2 structural antenna heights, m
 * @param out  ITM_PARTS slots: reads a; fills theta1, theta2, L1, L2, H1, H2, dh, d
 * @returns 0, or NaN where the profile has a void
 */
export function analyseProfile(
  z: Float64Array,
  n: number,
  step: number,
  h1: number,
  h2: number,
  out: Float64Array,
): number {
  const a = out[I.a]!;
  const d = n * step;
  const A = z[0]! + h1;
  const B = z[n]! + h2;
  let theta1 = (B - A) / d - d / (2 * a);
  let theta2 = (A - B) / d - d / (2 * a);
  let L1 = d;
  let L2 = d;
  // Running sums, not products: whole numbers of steps decide indices below, and the published digits hang on it.
  let s1 = 0;
  let s2 = d;
  let sum = A + B;
  for (let i = 1; i < n; i++) {
    s1 += step;
    s2 -= step;
    const zi = z[i]!;
    sum += zi;
    const t = (zi - A) / s1 - s1 / (2 * a);
    if (t > theta1) {
      theta1 = t;
      L1 = s1;
    }
    const r = (zi - B) / s2 - s2 / (2 * a);
    if (r > theta2) {
      theta2 = r;
      L2 = s2;
    }
  }
  const xa = Math.min(15 * h1, 0.1 * L1);
  const xb = d - Math.min(15 * h2, 0.1 * L2);
  const dh = irregularity(z, n, step, xa, xb);
  let H1: number;
  let H2: number;
  if (L1 + L2 > 1.5 * d) {
    fitLine(z, n, step, xa, xb);
    H1 = h1 + Math.max(z[0]! - line[0]!, 0);
    H2 = h2 + Math.max(z[n]! - line[1]!, 0);
    let S1 = Math.sqrt(2 * H1 * a);
    let S2 = Math.sqrt(2 * H2 * a);
    L1 = S1 * horizonFactor(dh, H1);
    L2 = S2 * horizonFactor(dh, H2);
    if (L1 + L2 <= d) {
      const q = (d / (L1 + L2)) * (d / (L1 + L2));
      H1 *= q;
      H2 *= q;
      S1 = Math.sqrt(2 * H1 * a);
      S2 = Math.sqrt(2 * H2 * a);
      L1 = S1 * horizonFactor(dh, H1);
      L2 = S2 * horizonFactor(dh, H2);
    }
    theta1 = (0.65 * dh * (S1 / L1 - 1) - 2 * H1) / S1;
    theta2 = (0.65 * dh * (S2 / L2 - 1) - 2 * H2) / S2;
  } else {
    fitLine(z, n, step, xa, 0.9 * L1);
    H1 = h1 + Math.max(z[0]! - line[0]!, 0);
    fitLine(z, n, step, d - 0.9 * L2, xb);
    H2 = h2 + Math.max(z[n]! - line[1]!, 0);
  }
  out[I.theta1] = theta1;
  out[I.theta2] = theta2;
  out[I.L1] = L1;
  out[I.L2] = L2;
  out[I.H1] = H1;
  out[I.H2] = H2;
  out[I.dh] = dh;
  out[I.d] = d;
  return sum * 0;
}

/** Horizons and effective heights from siting alone (area mode); dh and a are read from `out`. */
export function analyseSiting(h1: number, h2: number, siting1: number, siting2: number, out: Float64Array): void {
  const a = out[I.a]!;
  const dh = out[I.dh]!;
  for (let end = 0; end < 2; end++) {
    const h = end === 0 ? h1 : h2;
    const siting = end === 0 ? siting1 : siting2;
    let H = h;
    if (siting > 0) {
      let B = siting === 1 ? 4 : 9;
      if (h < 5) B *= Math.sin(0.1 * Math.PI * h);
      H = h + (1 + B) * Math.exp(-Math.min(20, (2 * h) / Math.max(0.001, dh)));
    }
    const S = Math.sqrt(2 * H * a);
    const L = S * horizonFactor(dh, H);
    out[end === 0 ? I.H1 : I.H2] = H;
    out[end === 0 ? I.L1 : I.L2] = L;
    out[end === 0 ? I.theta1 : I.theta2] = (0.65 * dh * (S / L - 1) - 2 * H) / S;
  }
}
