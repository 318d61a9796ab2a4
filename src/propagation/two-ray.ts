import { wavelengthM } from "../units/index.ts";
import { freeSpaceLossDb } from "./p525.ts";

/** Deepest fade shown below free space, dB: real ground never cancels the direct ray wholly. */
const DEEPEST_DB = 40;

export interface TwoRayResult {
  /** Loss with direct and reflected ray added in phase, dB. */
  lossDb: number;
  Lbfs: number;
  /** Plane-earth asymptote 40 log d − 20 log h1 − 20 log h2 (d, h in m), dB: what is left far beyond the break point. */
  Lplane: number;
  /** Distance 4·h1·h2/λ, beyond which loss rises with the fourth power of distance, km. */
  breakPointKm: number;
  /** Magnitude of the ground's reflection coefficient; 1 where no ground is given. */
  reflection: number;
}

/**
 * Two-ray loss over flat ground: the direct ray and the one mirrored by the ground.
 * A check beside clear paths over flat ground; never added to a diffraction loss.
 * @param distanceKm along the ground, km, > 0
 * @param txHeightM, rxHeightM above the ground, m, > 0
 * @param ground permittivity and conductivity (S/m); left out = perfect reflection in opposite phase, the grazing limit
 * Source: textbook (e.g. T. S. Rappaport, Wireless Communications, ch. 4 "Ground reflection (two-ray) model", from memory);
 * reflection coefficients are Fresnel's.
 */
export function twoRay(
  distanceKm: number,
  frequencyMHz: number,
  txHeightM: number,
  rxHeightM: number,
  polarization: "horizontal" | "vertical",
  ground?: { permittivity: number; conductivitySPerM: number },
): TwoRayResult {
  const d = distanceKm * 1000;
  const lambda = wavelengthM(frequencyMHz);
  const direct = Math.hypot(d, txHeightM - rxHeightM);
  const bounced = Math.hypot(d, txHeightM + rxHeightM);
  let re = -1;
  let im = 0;
  if (ground !== undefined)
    [re, im] = reflectionCoefficient((txHeightM + rxHeightM) / bounced, frequencyMHz, polarization, ground);
  // Path difference without cancellation of two nearly equal roots.
  const phase = (2 * Math.PI * 4 * txHeightM * rxHeightM) / (lambda * (direct + bounced));
  const ratio = direct / bounced;
  const c = Math.cos(phase);
  const s = Math.sin(phase);
  const fieldRe = 1 + ratio * (re * c + im * s);
  const fieldIm = ratio * (im * c - re * s);
  const summed = fieldRe * fieldRe + fieldIm * fieldIm;
  // Before the break point the two rays can cancel; beyond it (phase under π) they only fade slowly and nothing is cut.
  const power = phase >= Math.PI ? Math.max(summed, 10 ** (-DEEPEST_DB / 10)) : summed;
  const Lbfs = freeSpaceLossDb(direct / 1000, frequencyMHz);
  return {
    lossDb: Lbfs - 10 * Math.log10(power),
    Lbfs,
    Lplane: 40 * Math.log10(d) - 20 * Math.log10(txHeightM) - 20 * Math.log10(rxHeightM),
    breakPointKm: (4 * txHeightM * rxHeightM) / lambda / 1000,
    reflection: Math.hypot(re, im),
  };
}

/** Fresnel reflection coefficient, [re, im], at grazing angle asin(sine). */
function reflectionCoefficient(
  sine: number,
  frequencyMHz: number,
  polarization: "horizontal" | "vertical",
  ground: { permittivity: number; conductivitySPerM: number },
): [number, number] {
  const er = ground.permittivity;
  const ei = (-17975 * ground.conductivitySPerM) / frequencyMHz; // σ/(ω ε0), f in MHz
  // z = √(ε − cos²)
  const [zr, zi] = complexRoot(er - (1 - sine * sine), ei);
  const [ar, ai] = polarization === "vertical" ? [er * sine, ei * sine] : [sine, 0];
  const [nr, ni] = [ar - zr, ai - zi];
  const [dr, di] = [ar + zr, ai + zi];
  const q = dr * dr + di * di;
  return [(nr * dr + ni * di) / q, (ni * dr - nr * di) / q];
}

function complexRoot(re: number, im: number): [number, number] {
  const size = Math.hypot(re, im);
  const r = Math.sqrt((size + re) / 2);
  return [r, im === 0 ? 0 : im / (2 * r)];
}
