import { HardstandError } from "../../errors/index.ts";
import { type RadioProfile, radioProfile } from "../profile.ts";
import type { LossCase, LossResult, ModelWarning, Zone } from "../types.ts";

/**
 * What a case means where it is silent. The one place for it.
 * `distanceKm` of the per-kilometre models (P.838, P.676) is 1, so that their loss reads as dB/km.
 */
export const CASE_DEFAULTS = {
  polarization: "vertical",
  timePct: 50,
  locationPct: 50,
  locationSigmaDb: 0,
  /** Average refractivity lapse rate through the lowest km, N-units/km, and sea-level refractivity, N-units. */
  deltaN: 45,
  n0: 325,
  /** "Far from the sea", km. */
  coastKm: 500,
  /** Latitude of the path's middle when neither end is given, degrees. */
  latitudeDeg: 45,
  zone: "inland",
  effectiveRadiusKm: 8500,
  seaFraction: 0,
  /** Irregular terrain model: 301 N-units, average ground, continental temperate, mobile service without location spread. */
  itmN0: 301,
  climate: 5,
  permittivity: 15,
  conductivitySPerM: 0.005,
  mdvar: 12,
  situationPct: 50,
  streetWidthM: 27,
  probabilityPct: 50,
  elevationDeg: 0,
  distanceKm: 1,
  tiltDeg: { horizontal: 0, vertical: 90 },
  /** Standard ground-level atmosphere (Rec. ITU-R P.835: 1013.25 hPa, 288.15 K, 7.5 g/m³). */
  pressureHPa: 1013.25,
  temperatureK: 288.15,
  waterVapourGPerM3: 7.5,
} as const;

/** Throws the one error of this room: a case that cannot be computed as it stands. */
export function refuse(message: string, where: string, received: unknown, hint: string): never {
  throw new HardstandError("model.input", message, { where, received, hint });
}

/** The value of a field the model cannot do without. */
export function required<K extends keyof LossCase>(input: LossCase, key: K): NonNullable<LossCase[K]> {
  const value = input[key];
  if (value === undefined || value === null)
    refuse(`${key} is missing for model ${input.model}`, key, null, `give ${key}`);
  return value as NonNullable<LossCase[K]>;
}

/** Path length, km: `distanceKm`, or the last of `distancesKm`. */
export function distanceOf(input: LossCase): number {
  if (input.distanceKm !== undefined) return input.distanceKm;
  const last = input.distancesKm?.at(-1);
  if (last === undefined)
    refuse(
      `the path length is missing for model ${input.model}`,
      "distanceKm",
      null,
      "give distanceKm, or distancesKm",
    );
  if (!(last > 0))
    refuse("the path has no length", "distancesKm", last, "distances rise from 0 to the path length, km");
  return last;
}

/** The case's profile, checked: starts at 0, rises strictly, all arrays of one length. */
export function profileOf(input: LossCase): RadioProfile {
  const distances = required(input, "distancesKm");
  const heights = required(input, "heightsM");
  if (distances[0] !== 0)
    refuse(
      "the profile does not start at the transmitter",
      "distancesKm[0]",
      distances[0],
      "the first distance is 0 km",
    );
  for (let i = 1; i < distances.length; i++)
    if (!(distances[i]! > distances[i - 1]!))
      refuse(
        "distances do not rise",
        `distancesKm[${i}]`,
        distances[i],
        `give more than ${distances[i - 1]} km, or drop the point`,
      );
  sameLength("heightsM", heights.length, distances.length);
  if (input.clutterM !== undefined) sameLength("clutterM", input.clutterM.length, distances.length);
  return radioProfile(distances, heights, input.clutterM);
}

function sameLength(where: string, got: number, wanted: number): void {
  if (got !== wanted)
    refuse(`${where} and distancesKm differ in length`, where, got, `give ${wanted} values, one for each distance`);
}

/** Zones as numbers (1 sea, 3 coastal, 4 inland), or null for inland all along. */
export function zonesOf(input: LossCase, n: number): Uint8Array | null {
  if (input.zones === undefined) return null;
  sameLength("zones", input.zones.length, n);
  return Uint8Array.from(input.zones, zoneCode);
}

export const zoneCode = (zone: Zone): number => (zone === "sea" ? 1 : zone === "coastal" ? 3 : 4);

/** Collects warnings; each code once. */
export class Warnings {
  readonly list: ModelWarning[] = [];

  /** Adds a warning when `value` lies outside [low, high]. */
  range(code: string, what: string, value: number, low: number, high: number, unit: string): void {
    if (value >= low && value <= high) return;
    this.add(
      code,
      `${what} ${format(value)} ${unit} is outside ${low}–${high} ${unit}, the stated range of this model`,
    );
  }

  add(code: string, text: string): void {
    if (!this.list.some((w) => w.code === code)) this.list.push({ code, text });
  }
}

const format = (value: number): string => String(Number(value.toPrecision(6)));

/** Packs an answer. A path loss below 0 dB has no meaning: it is shown as 0 with a warning. */
export function pathAnswer(lossDb: number, parts: Record<string, number>, warnings: Warnings): LossResult {
  if (lossDb < 0) {
    warnings.add(
      "loss.below-zero",
      "the formula gives less than 0 dB: the antennas are nearer than the far field; 0 dB is shown",
    );
    return { lossDb: 0, parts, warnings: warnings.list };
  }
  return { lossDb, parts, warnings: warnings.list };
}
