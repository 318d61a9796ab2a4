/**
 * Irregular terrain model: reference attenuation (median, relative to free space) from horizons and heights.
 * Source as in itm-profile.kernel.ts. "[ERL]" is ESSA Technical Report ERL 79-ITS 67, "[Vogler]" the three-radii method it quotes.
 */
import { I } from "./itm-profile.kernel.ts";

/** What stays fixed while distance varies. A Float64Array keeps the numbers unboxed. */
const C = new Float64Array(14);
const F = 0,
  H1 = 1,
  H2 = 2,
  S1 = 3,
  S2 = 4,
  L1 = 5,
  L2 = 6,
  TH = 7,
  DH = 8,
  A = 9,
  ABSZ = 10,
  P1 = 11,
  P2 = 12,
  C0 = 13;
/** Scatter frequency-gain memory between the two evaluations. */
const memory = new Float64Array(1);

/** Roughness seen over a distance [ERL 3]. */
const roughness = (s: number): number => C[DH]! * (1 - 0.8 * Math.exp(-s / 50_000));
/** RMS roughness [ERL 3.6a]. */
const rms = (x: number): number => 0.78 * x * Math.exp(-0.5 * Math.sqrt(Math.sqrt(x)));

/** Knife-edge loss from v squared, as the model approximates it. */
export function itmKnifeEdge(v2: number): number {
  return v2 < 5.76 ? 6.02 + 9.11 * Math.sqrt(v2) - 1.27 * v2 : 12.953 + 10 * Math.log10(v2);
}

/** Height-gain function of the rounded Earth. */
export function itmHeightFunction(x: number, K: number): number {
  if (x < 200) {
    const w = -Math.log(K);
    if (K < 1e-5 || x * w * w * w > 5495) return -117 + (x > 1 ? 17.372 * Math.log(x) : 0);
    return (2.5e-5 * x * x) / K - 8.686 * w - 15;
  }
  const g = 0.05751 * x - 4.343 * Math.log(x);
  if (x >= 2000) return g;
  const w = 0.0134 * x * Math.exp(-0.005 * x);
  return (1 - w) * g + w * (17.372 * Math.log(x) - 117);
}

const GAIN_A = Float64Array.of(25, 80, 177, 395, 705);
const GAIN_B = Float64Array.of(24, 45, 68, 80, 105);

function gainCurve(r: number, i: number): number {
  const q = 1 / (r * r);
  return 10 * Math.log10(1 + GAIN_A[i - 1]! * q * q + GAIN_B[i - 1]! * q);
}

/** Scatter frequency gain, between its five curves. */
export function itmFrequencyGain(r: number, eta: number): number {
  const e = Math.min(Math.max(eta, 1), 5);
  const i = Math.trunc(e);
  const q = e - i;
  const low = gainCurve(r, i);
  return q === 0 ? low : (1 - q) * low + q * gainCurve(r, i + 1);
}

function scatterCurve(u: number): number {
  if (u <= 10_000) return 133.4 + 0.332e-3 * u - 10 * Math.log10(u);
  if (u <= 70_000) return 104.6 + 0.212e-3 * u - 2.5 * Math.log10(u);
  return 71.8 + 0.157e-3 * u + 5 * Math.log10(u);
}

/** Curvature term of one radius [Vogler]: x_m, with K_m left in `memoK`. */
const memoK = new Float64Array(1);
function curvatureTerm(radius: number, length: number): number {
  const f3 = Math.cbrt(C[F]!);
  const Cm = Math.cbrt(((4 / 3) * 6_370_000) / radius);
  const K = (0.017778 * Cm) / f3 / C[ABSZ]!;
  memoK[0] = K;
  return ((1.607 - K) * Cm * Cm * f3 * length) / 1000;
}

/** Diffraction attenuation at distance s beyond the horizons, dB. */
function diffraction(s: number): number {
  const f = C[F]!;
  const k = f / 47.7;
  const l1 = C[L1]!;
  const l2 = C[L2]!;
  const Ls = l1 + l2;
  const a = C[A]!;
  const t = C[TH]! + s / a;
  const e = s - Ls;
  const q = 0.0795775 * k * t * t * e;
  const edges = itmKnifeEdge((q * l1) / (e + l1)) + itmKnifeEdge((q * l2) / (e + l2));
  const x0 = curvatureTerm(e / t, e);
  const x1 = curvatureTerm((l1 * l1) / (2 * C[H1]!), l1);
  const g1 = itmHeightFunction(x1, memoK[0]!);
  const x2 = curvatureTerm((l2 * l2) / (2 * C[H2]!), l2);
  const g2 = itmHeightFunction(x2, memoK[0]!);
  const x = x0 + x1 + x2;
  const rounded = 0.05751 * x - 10 * Math.log10(x) - g1 - g2 - 20;
  const p1 = C[P1]!;
  const p2 = C[P2]!;
  const S = C[S1]! + C[S2]!;
  const clutter = Math.min(15, 5 * Math.log10(1 + 1e-5 * p1 * p2 * f * rms(roughness(S))));
  const Q =
    (Math.sqrt(1 + (C[H1]! * C[H2]! - p1 * p2) / (p1 * p2 + C[C0]!)) + (C[TH]! * a + Ls) / s) *
    Math.min(k * roughness(s), 6283.2);
  const W = 25.1 / (25.1 + Math.sqrt(Q));
  return W * rounded + (1 - W) * edges + clutter;
}

/** Line-of-sight attenuation at distance s, blended with the diffraction line m·s + c. */
function lineOfSight(s: number, reZ: number, imZ: number, m: number, c: number): number {
  const f = C[F]!;
  const k = f / 47.7;
  const hh = C[H1]! + C[H2]!;
  const sp = hh / Math.sqrt(s * s + hh * hh);
  // (sp − Z)/(sp + Z)
  const nr = sp - reZ;
  const dr = sp + reZ;
  const size = dr * dr + imZ * imZ;
  const damp = Math.exp(-Math.min(10, k * rms(roughness(s)) * sp));
  let re = ((nr * dr - imZ * imZ) / size) * damp;
  let im = ((-imZ * dr - nr * imZ) / size) * damp;
  const q = re * re + im * im;
  if (q < 0.25 || q < sp) {
    const scale = Math.sqrt(sp / q);
    re *= scale;
    im *= scale;
  }
  let ph = (2 * k * C[H1]! * C[H2]!) / s;
  if (ph > Math.PI / 2) ph = Math.PI - ((Math.PI / 2) * (Math.PI / 2)) / ph;
  const sumRe = Math.cos(ph) + re;
  const sumIm = -Math.sin(ph) + im;
  const At = -10 * Math.log10(sumRe * sumRe + sumIm * sumIm);
  const w = 1 / (1 + (f * C[DH]!) / Math.max(10_000, C[S1]! + C[S2]!));
  return w * At + (1 - w) * (m * s + c);
}

/** Troposcatter attenuation at distance s; 1001 where it is not defined. */
function scatter(s: number, theta12: number, Ns: number): number {
  const f = C[F]!;
  const k = f / 47.7;
  let H0: number;
  if (memory[0]! > 15) H0 = memory[0]!;
  else {
    const D = Math.abs(C[L1]! - C[L2]!);
    const rr = C[L1]! >= C[L2]! ? C[H2]! / C[H1]! : C[H1]! / C[H2]!;
    const t = theta12 + s / C[A]!;
    const r1 = 2 * k * t * C[H1]!;
    const r2 = 2 * k * t * C[H2]!;
    if (r1 < 0.2 && r2 < 0.2) return 1001;
    let y = (s - D) / (s + D);
    const q = Math.min(Math.max(0.1, rr / y), 10);
    y = Math.max(0.1, y);
    const z = ((s - D) * (s + D) * t) / (4 * s);
    const eta =
      (z / 1755.6) * (1 + (0.031 - 2.32e-3 * Ns + 5.67e-6 * Ns * Ns) * Math.exp(-(Math.min(1.7, z / 8000) ** 6)));
    const b = (itmFrequencyGain(r1, eta) + itmFrequencyGain(r2, eta)) / 2;
    H0 = Math.max(b + Math.min(b, 6 * (0.6 - Math.log10(Math.max(eta, 1))) * Math.log10(y) * Math.log10(q)), 0);
    if (eta < 1) {
      const u = (1 + Math.SQRT2 / r1) * (1 + Math.SQRT2 / r2);
      H0 = eta * H0 + (1 - eta) * 10 * Math.log10((u * u * (r1 + r2)) / (r1 + r2 + 2 * Math.SQRT2));
    }
    if (H0 > 15 && memory[0]! >= 0) H0 = memory[0]!;
  }
  memory[0] = H0;
  const th = C[TH]! + s / C[A]!;
  return (
    scatterCurve(th * s) + 10 * Math.log10(f * th * th * th * th) - 0.1 * (Ns - 301) * Math.exp((-th * s) / 40_000) + H0
  );
}

/**
 * Reference attenuation, propagation mode (1 line of sight, 2 diffraction, 3 troposcatter) and range bits.
 * @param h1, h2 structural heights, m
 * @param c0     10 on a given profile, 0 in area mode
 * @param out    ITM_PARTS slots: reads Ns, a, ReZ, ImZ, theta1…dh, d; fills Aref, mode, S, Th, m, c, and error where it ends early
 */
export function referenceAttenuation(fMHz: number, h1: number, h2: number, c0: number, out: Float64Array): void {
  const a = out[I.a]!;
  const d = out[I.d]!;
  const Ns = out[I.Ns]!;
  const reZ = out[I.ReZ]!;
  const imZ = out[I.ImZ]!;
  const l1 = out[I.L1]!;
  const l2 = out[I.L2]!;
  C[F] = fMHz;
  C[H1] = out[I.H1]!;
  C[H2] = out[I.H2]!;
  C[S1] = Math.sqrt(2 * out[I.H1]! * a);
  C[S2] = Math.sqrt(2 * out[I.H2]! * a);
  C[L1] = l1;
  C[L2] = l2;
  C[DH] = out[I.dh]!;
  C[A] = a;
  C[ABSZ] = Math.sqrt(reZ * reZ + imZ * imZ);
  C[P1] = h1;
  C[P2] = h2;
  C[C0] = c0;
  const Ls = l1 + l2;
  const S = C[S1]! + C[S2]!;
  const Th = Math.max(out[I.theta1]! + out[I.theta2]!, -Ls / a);
  C[TH] = Th;
  out[I.S] = S;
  out[I.Th] = Th;

  let bits = out[I.bits]!;
  if (Math.abs(out[I.theta1]!) > 0.2) bits |= 0x80;
  if (Math.abs(out[I.theta2]!) > 0.2) bits |= 0x100;
  if (l1 < 0.1 * C[S1]!) bits |= 0x200;
  if (l2 < 0.1 * C[S2]!) bits |= 0x400;
  if (l1 > 3 * C[S1]!) bits |= 0x800;
  if (l2 > 3 * C[S2]!) bits |= 0x1000;
  out[I.bits] = bits;
  let error = 0;
  if (Ns < 150) error = 1021;
  else if (Ns > 400) error = 1022;
  else if (a < 4_000_000 || a > 13_333_333) error = 1016;
  else if (reZ <= Math.abs(imZ)) error = 1013;
  if (error !== 0) {
    out[I.error] = error;
    return;
  }
  if (Ns < 250) bits |= 0x4000;

  const X = Math.cbrt((a * a) / fMHz);
  const s3 = Math.max(S, Ls + 5 * X);
  const s4 = s3 + 10 * X;
  const A3 = diffraction(s3);
  const m = (diffraction(s4) - A3) / (s4 - s3);
  const c = A3 - m * s3;
  out[I.m] = m;
  out[I.c] = c;
  if (d < Math.abs(C[H1]! - C[H2]!) / 0.2) bits |= 0x20;
  if (d < 1000) bits |= 0x40;
  if (d > 1_000_000) bits |= 0x08;
  if (d > 2_000_000) bits |= 0x10;
  out[I.bits] = bits;

  let Aref: number;
  let mode = 1;
  if (d < S) Aref = insideHorizon(d, S, Ls, m, c, reZ, imZ);
  else {
    memory[0] = -1;
    const theta12 = out[I.theta1]! + out[I.theta2]!;
    const s5 = Ls + 200_000;
    const A6 = scatter(Ls + 400_000, theta12, Ns);
    const A5 = scatter(s5, theta12, Ns);
    let ms = m;
    let cs = c;
    let dx = 10_000_000;
    if (A5 < 1000) {
      ms = (A6 - A5) / 200_000;
      dx = Math.max(S, Ls + 1.088 * X * Math.log(fMHz), (A5 - c - ms * s5) / (m - ms));
      cs = (m - ms) * dx + c;
    }
    mode = d > dx ? 3 : 2;
    Aref = d > dx ? ms * d + cs : m * d + c;
  }
  out[I.mode] = mode;
  out[I.Aref] = Math.max(Aref, 0);
}

/** Attenuation inside the smooth-Earth horizon: a curve through three points of the line-of-sight and diffraction formulas. */
function insideHorizon(d: number, S: number, Ls: number, m: number, c: number, reZ: number, imZ: number): number {
  const A2 = m * S + c;
  let d0 = 0.04 * C[F]! * C[H1]! * C[H2]!;
  let d1: number;
  if (c >= 0) {
    d0 = Math.min(d0, Ls / 2);
    d1 = d0 + (Ls - d0) / 4;
  } else d1 = Math.max(-c / m, Ls / 4);
  const A1 = lineOfSight(d1, reZ, imZ, m, c);
  let k1 = 0;
  let k2 = 0;
  let logarithmic = false;
  if (d0 < d1) {
    const A0 = lineOfSight(d0, reZ, imZ, m, c);
    const q = Math.log(S / d0);
    k2 = Math.max(0, ((S - d0) * (A1 - A0) - (d1 - d0) * (A2 - A0)) / ((S - d0) * Math.log(d1 / d0) - (d1 - d0) * q));
    logarithmic = c > 0 || k2 > 0;
    if (logarithmic) {
      k1 = (A2 - A0 - k2 * q) / (S - d0);
      if (k1 < 0) {
        k1 = 0;
        k2 = Math.max(A2 - A0, 0) / q;
        if (k2 === 0) k1 = m;
      }
    }
  }
  if (!logarithmic) {
    k1 = Math.max(A2 - A1, 0) / (S - d1);
    k2 = 0;
    if (k1 === 0) k1 = m;
  }
  return A2 + k1 * (d - S) + k2 * Math.log(d / S);
}
