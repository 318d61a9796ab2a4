import { type ItmLink, itmAreaInto, itmPointToPointInto } from "./itm.kernel.ts";
import { ITM_PARTS, ITM_SLOTS, type ItmPart } from "./itm-profile.kernel.ts";
import { inverseComplementaryItm } from "./normal.ts";
import type { LinkEnds, RadioProfile } from "./profile.ts";

export interface ItmInput extends LinkEnds {
  /** Refractivity reduced to sea level, N-units; default 301. */
  n0?: number;
  /** 1 equatorial, 2 continental subtropical, 3 maritime subtropical, 4 desert, 5 continental temperate (default), 6 maritime temperate over land, 7 over sea. */
  climate?: number;
  /** Relative permittivity and conductivity (S/m) of the ground; defaults 15 and 0.005, average ground. */
  permittivity?: number;
  conductivitySPerM?: number;
  /** Mode of variability; default 12: mobile service, location spread taken out because the profile is known. */
  mdvar?: number;
  /** Percentages for which the loss is not exceeded; default 50 each. */
  timePct?: number;
  locationPct?: number;
  situationPct?: number;
}

/** Loss, the model's own terms (m, rad, dB), range bits and error number. */
export type ItmResult = { lossDb: number } & Record<ItmPart, number>;

/** The kernel's link for an input; keep it and change fields for repeated calls. */
export function itmLink(input: ItmInput): ItmLink {
  return {
    fMHz: input.frequencyMHz,
    h1: input.txHeightM,
    h2: input.rxHeightM,
    vertical: input.polarization === "vertical" ? 1 : 0,
    permittivity: input.permittivity ?? 15,
    conductivitySPerM: input.conductivitySPerM ?? 0.005,
    n0: input.n0 ?? 301,
    climate: input.climate ?? 5,
    mdvar: input.mdvar ?? 12,
    zTime: inverseComplementaryItm((input.timePct ?? 50) / 100),
    zLocation: inverseComplementaryItm((input.locationPct ?? 50) / 100),
    zSituation: inverseComplementaryItm((input.situationPct ?? 50) / 100),
  };
}

const scratch = new Float64Array(ITM_SLOTS);

function result(): ItmResult {
  const answer = { lossDb: scratch[0]! } as ItmResult;
  for (let i = 0; i < ITM_SLOTS; i++) answer[ITM_PARTS[i]!] = scratch[i]!;
  return answer;
}

/** Length of one step, m. Twelve digits: a last-place slip from km would move the model's whole-number indices. */
export function stepOf(profile: RadioProfile): number {
  return Number(((profile.distancesKm[profile.n - 1]! * 1000) / (profile.n - 1)).toPrecision(12));
}

/** True when the profile's points stand at equal steps, to a thousandth of a step. */
export function equalSteps(profile: RadioProfile): boolean {
  const { distancesKm: d, n } = profile;
  const step = d[n - 1]! / (n - 1);
  for (let i = 1; i < n; i++) if (Math.abs(d[i]! - i * step) > 1e-3 * step) return false;
  return true;
}

/** Ground of a profile at equal steps: as many points as before, straight lines between the old ones. */
export function resampleGround(profile: RadioProfile): Float64Array {
  const { distancesKm: d, groundM: h, n } = profile;
  const out = new Float64Array(n);
  const step = d[n - 1]! / (n - 1);
  let k = 1;
  for (let i = 0; i < n; i++) {
    const x = Math.min(i * step, d[n - 1]!);
    while (k < n - 1 && d[k]! < x) k++;
    out[i] = h[k - 1]! + ((h[k]! - h[k - 1]!) * (x - d[k - 1]!)) / (d[k]! - d[k - 1]!);
  }
  return out;
}

/**
 * Irregular terrain model, point to point.
 * Reads bare ground only: what stands on it would lift the antennas and distort roughness. Unequal steps are resampled.
 * @returns loss, dB, and every term. `bits` are range warnings, `error` the number of a condition the model stops at:
 *          lossDb is then NaN, as it is where the profile has a void or where the three-radii curve has no value
 *          (low frequency and steep horizons within half a kilometre).
 * Accuracy: published cases to half of their last printed digit. A horizon at a whole number of steps can move the result by
 * up to 2 dB (indices are truncated): model noise.
 * Stated range: 20 MHz–20 GHz, antennas 0.5–3000 m, from 1 km to 2000 km.
 * Source: NTIA Report TR-82-100 (Hufford, Longley, Kissick) and the algorithm memo, version 1.2.2, as in NTIA's v1.4.
 */
export function itmPointToPoint(profile: RadioProfile, input: ItmInput): ItmResult {
  const ground = equalSteps(profile) ? profile.groundM : resampleGround(profile);
  itmPointToPointInto(ground, profile.n - 1, stepOf(profile), itmLink(input), scratch);
  return result();
}

export interface ItmArea {
  distanceKm: number;
  /** Interdecile terrain irregularity, m, >= 0 (flat 0, hills 90, mountains 200). */
  terrainIrregularityM: number;
  /** How the sites are chosen: 0 at random, 1 with care, 2 with great care; default 0. */
  txSiting?: number;
  rxSiting?: number;
}

/** Irregular terrain model without a profile. Source and accuracy as for {@link itmPointToPoint}. */
export function itmArea(area: ItmArea, input: ItmInput): ItmResult {
  itmAreaInto(
    area.distanceKm * 1000,
    area.terrainIrregularityM,
    area.txSiting ?? 0,
    area.rxSiting ?? 0,
    itmLink(input),
    scratch,
  );
  return result();
}

/** Range bits as warning codes with their meaning. */
export const ITM_BITS: readonly { bit: number; code: string; text: string }[] = [
  { bit: 0x0001, code: "itm.height-range", text: "an antenna height is outside 1–1000 m" },
  { bit: 0x0002, code: "itm.height-range", text: "an antenna height is outside 1–1000 m" },
  { bit: 0x0004, code: "itm.frequency-range", text: "the frequency is outside 40–10 000 MHz" },
  { bit: 0x0008, code: "itm.distance-range", text: "the path is longer than 1000 km" },
  { bit: 0x0010, code: "itm.distance-range", text: "the path is longer than 2000 km" },
  { bit: 0x0020, code: "itm.near-path", text: "the path is short for the difference of effective heights" },
  {
    bit: 0x0040,
    code: "itm.distance-range",
    text: "the path is shorter than 1 km, where the model's stated range begins",
  },
  { bit: 0x0080, code: "itm.horizon-angle", text: "a horizon is steeper than 0.2 rad" },
  { bit: 0x0100, code: "itm.horizon-angle", text: "a horizon is steeper than 0.2 rad" },
  { bit: 0x0200, code: "itm.horizon-near", text: "a horizon is nearer than a tenth of the smooth-Earth horizon" },
  { bit: 0x0400, code: "itm.horizon-near", text: "a horizon is nearer than a tenth of the smooth-Earth horizon" },
  { bit: 0x0800, code: "itm.horizon-far", text: "a horizon is farther than three smooth-Earth horizons" },
  { bit: 0x1000, code: "itm.horizon-far", text: "a horizon is farther than three smooth-Earth horizons" },
  { bit: 0x2000, code: "itm.percentage-range", text: "a percentage lies beyond about 0.1 % or 99.9 %" },
  { bit: 0x4000, code: "itm.refractivity-range", text: "surface refractivity is below 250 N-units" },
];

/** What each error number says. */
export const ITM_ERRORS: Readonly<Record<number, { field: string; text: string }>> = {
  1000: { field: "txHeightM", text: "give 0.5–3000 m" },
  1001: { field: "rxHeightM", text: "give 0.5–3000 m" },
  1008: { field: "n0", text: "give 250–400 N-units" },
  1009: { field: "frequencyMHz", text: "give 20–20 000 MHz" },
  1013: {
    field: "permittivity",
    text: "the ground's impedance has no value the model accepts: check permittivity and conductivity",
  },
  1016: { field: "n0", text: "the effective Earth radius is outside 4000–13 333 km: check n0 and the heights" },
  1021: { field: "n0", text: "surface refractivity is below 150 N-units: check n0 and the heights" },
  1022: { field: "n0", text: "surface refractivity is above 400 N-units: check n0 and the heights" },
};
