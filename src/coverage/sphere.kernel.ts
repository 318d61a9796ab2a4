import type { LinkConstants } from "./link-constants.ts";

const DB20 = 20 / Math.LN10;
const DB10 = 10 / Math.LN10;

/** Loss of one knife edge, dB; 0 at or below ν = −0.78 (Rec. ITU-R P.526-15 §4.1, eq. 31). NaN stays NaN. */
export function edgeLossDb(nu: number): number {
  if (nu <= -0.78) return 0;
  const a = nu - 0.1;
  return 6.9 + DB20 * Math.log(Math.sqrt(a * a + 1) + a);
}

/** Bullington's loss from that of the equivalent edge, dB (P.526-15 §4.5.1). */
export function bullingtonDb(edgeDb: number, distanceKm: number): number {
  return edgeDb + (1 - Math.exp(edgeDb * (-1 / 6))) * (10 + 0.02 * distanceKm);
}

/** One height gain as a factor, for 20 log of it to be the gain G(Y) of P.526-15 eq. (18). */
function heightGainFactor(b: number, floor: number): number {
  if (b > 2) {
    const c = b - 1.1;
    // 17.6 √c − 5 log c − 8 in dB
    return Math.max(Math.exp((17.6 * Math.sqrt(c) - 8) / DB20) / Math.sqrt(Math.sqrt(c)), floor);
  }
  return Math.max(b * (1 + 0.1 * b * b), floor);
}

/** First term of the residue series from its scaled distance X and heights B, dB; may be negative (P.526-15 §3.1.1). */
function firstTermDb(x: number, b1: number, b2: number, floor: number): number {
  const gains = heightGainFactor(b1, floor) * heightGainFactor(b2, floor);
  if (x >= 1.6) return 17.6 * x - 11 - DB10 * Math.log(x * gains * gains);
  const lnX = Math.log(x);
  return DB20 * (lnX - Math.log(gains)) + 5.6488 * Math.exp(1.425 * lnX);
}

/**
 * How much the spherical Earth adds to the smooth-profile Bullington loss: max(Ldsph − Lbulls, 0), dB.
 * @param n      steps of the path; the smooth profile is sampled at steps 1…n−1
 * @param stepM  length of a step, m
 * @param h1, h2 antenna heights above the smooth surface, m
 * @returns dB, >= 0; NaN for NaN
 * Source: Rec. ITU-R P.526-15 §3.2 (any distance), §4.5.3 (delta-Bullington), eq. (23)–(27) of P.1812-6 §4.3.2.
 */
export function sphereExcessDb(link: LinkConstants, n: number, stepM: number, h1: number, h2: number): number {
  const d = n * stepM;
  const lambda = link.lambdaM;
  const sum = h1 + h2;
  const bend = d / link.radiusM;
  const roots = Math.sqrt(h1) + Math.sqrt(h2);
  let sphereDb: number;
  let clearest = 0; // place of the least relative clearance, as a share of the path
  const inSight = d * d < 2 * link.radiusM * roots * roots;
  if (!inSight) {
    sphereDb = firstTermDb(link.xPerKm * d * 0.001, link.yPerM * h1, link.yPerM * h2, link.gainFloor);
    if (sphereDb <= 0) return 0;
  } else {
    const m = (0.25 * bend * d) / sum;
    const m1 = m + 1;
    const c = (h1 - h2) / sum;
    const arg = Math.min(1, Math.max(-1, 1.5 * c * Math.sqrt((3 * m) / (m1 * m1 * m1))));
    const b = 2 * Math.sqrt(m1 / (3 * m)) * Math.cos(Math.PI / 3 + Math.acos(arg) / 3);
    clearest = 0.5 * (1 + b);
    const d1 = clearest * d;
    const d2 = d - d1;
    const clearance = h1 + (h2 - h1) * clearest - (d1 * d2) / (2 * link.radiusM);
    // 17.456 with d in km is 17.456/√1000 with d in m.
    const needed = (17.456 / Math.sqrt(1000)) * Math.sqrt((d1 * d2 * lambda) / d);
    if (clearance > needed) return 0;
    const share = needed > 0 ? Math.max(1 - clearance / needed, 0) : 1;
    // a_em of eq. (26), km: 500 (d_km / Σ√h)²
    const radiusKm = 500e-6 * (d / roots) * (d / roots);
    const r3 = 1 / Math.cbrt(radiusKm);
    const f3 = Math.cbrt(link.fGHz);
    const K = (link.admittance * r3) / f3;
    const K2 = K * K;
    const K4 = K2 * K2;
    const beta = (1 + 1.6 * K2 + 0.67 * K4) / (1 + 4.5 * K2 + 1.53 * K4);
    const x = 21.88e-3 * beta * f3 * r3 * r3 * d;
    const y = 0.9575 * beta * beta * f3 * f3 * r3;
    const full = firstTermDb(x, y * h1, y * h2, 10 ** 0.1 * K);
    if (full <= 0) return 0;
    sphereDb = share * full;
  }
  if (n < 2) return sphereDb; // nothing lies between the ends
  return Math.max(sphereDb - smoothBullingtonDb(link, n, stepM, h1, h2, inSight ? clearest : -1), 0);
}

/**
 * Bullington loss over the smooth Earth, sampled at steps 1…n−1 as the actual profile is. Slopes and ν have one maximum
 * along the path, so that the two samples beside the continuous maximum decide.
 * @param clearest share of the path where ν is greatest; negative when the ends do not see each other
 */
function smoothBullingtonDb(
  link: LinkConstants,
  n: number,
  stepM: number,
  h1: number,
  h2: number,
  clearest: number,
): number {
  const bulge = (stepM * stepM) / (2 * link.radiusM);
  const kappa = 2 / (link.lambdaM * stepM);
  const tilt = (h2 - h1) / n;
  const slopeT = steepest(bulge, n, h1);
  let nu: number;
  if (slopeT < tilt) {
    // Ends that see each other between samples only have no continuous clear place: take the middle of their horizons.
    const at = clearest >= 0 ? clearest * n : Math.sqrt(h1 / bulge);
    let j = Math.min(Math.max(Math.floor(at), 1), n - 1);
    let q = relativeClearance(bulge, n, h1, tilt, j);
    // The continuous place may be off by a sample when it lies outside the samples.
    while (j < n - 1) {
      const next = relativeClearance(bulge, n, h1, tilt, j + 1);
      if (next >= q) break;
      q = next;
      j++;
    }
    while (j > 1) {
      const next = relativeClearance(bulge, n, h1, tilt, j - 1);
      if (next >= q) break;
      q = next;
      j--;
    }
    nu = -Math.sqrt(kappa * n * q);
  } else {
    const slopeR = steepest(bulge, n, h2);
    const both = slopeT + slopeR;
    const at = (h2 - h1 + slopeR * n) / both;
    nu = both > 0 ? (slopeT - tilt) * Math.sqrt((kappa * n * at) / (n - at)) : 0;
  }
  return bullingtonDb(edgeLossDb(nu), n * stepM * 0.001);
}

/** Greatest slope of the smooth Earth's samples seen from height h at one end, m per step: max of c(n − j) − h/j. */
function steepest(bulge: number, n: number, h: number): number {
  const j = Math.min(Math.max(Math.floor(Math.sqrt(h / bulge)), 1), n - 1);
  const here = bulge * (n - j) - h / j;
  return j + 1 < n ? Math.max(here, bulge * (n - j - 1) - h / (j + 1)) : here;
}

/** Squared clearance over j(n − j), the measure of ν². */
function relativeClearance(bulge: number, n: number, h1: number, tilt: number, j: number): number {
  const w = j * (n - j);
  const u = h1 + tilt * j - bulge * w;
  return (u * u) / w;
}
