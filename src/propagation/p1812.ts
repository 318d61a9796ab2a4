import { inverseComplementaryP1812 } from "./normal.ts";
import { p1812Into } from "./p1812.kernel.ts";
import { P1812_PARTS, P1812_SLOTS, type P1812Link, type P1812Part } from "./p1812-parts.ts";
import type { LinkEnds, RadioProfile } from "./profile.ts";
import { middleLatitudeDeg, ZONE, zoneLengths } from "./zones.ts";

export interface P1812Input extends LinkEnds {
  /** Time percentage for which the loss is not exceeded; default 50. Held to at most 50, where the method ends. */
  timePct?: number;
  /** Location percentage, default 50, and spread of locations σ, dB, default 0. */
  locationPct?: number;
  locationSigmaDb?: number;
  /** Ends as [longitude, latitude]; or the latitude of the path's middle. Default 45 degrees. */
  txLngLat?: readonly [number, number];
  rxLngLat?: readonly [number, number];
  latitudeDeg?: number;
  /** Refractivity gradient, N-units/km (positive), default 45; sea-level refractivity, N-units, default 325. */
  deltaN?: number;
  n0?: number;
  /** Distance over land to the coast, km, default 500. */
  txCoastKm?: number;
  rxCoastKm?: number;
  /** Kind of ground of each point (1 sea, 3 coastal, 4 inland); left out = inland. */
  zones?: Uint8Array | null;
}

/** Every intermediate under the Recommendation's symbol, and the loss. */
export type P1812Result = { lossDb: number } & Record<P1812Part, number>;

/** Loss to add for location variability (§4.8): −I(pL)·σ for a terminal on land, nothing at sea. */
export function locationLossDb(locationPct: number, sigmaDb: number): number {
  return sigmaDb === 0 ? 0 : -inverseComplementaryP1812(locationPct / 100) * sigmaDb;
}

/** The kernel's link for an input; for repeated calls keep it and change fields. */
export function p1812Link(profile: RadioProfile, input: P1812Input): P1812Link {
  const { distancesKm, n } = profile;
  const zones = input.zones ?? null;
  const rxAtSea = zones?.[n - 1] === ZONE.sea;
  const latitudeDeg =
    input.latitudeDeg ??
    (input.txLngLat !== undefined && input.rxLngLat !== undefined
      ? middleLatitudeDeg(input.txLngLat, input.rxLngLat, distancesKm[n - 1]!)
      : (input.txLngLat?.[1] ?? input.rxLngLat?.[1] ?? 45));
  return {
    fGHz: input.frequencyMHz / 1000,
    htg: input.txHeightM,
    hrg: input.rxHeightM,
    vertical: input.polarization === "vertical" ? 1 : 0,
    p: Math.min(input.timePct ?? 50, 50),
    locationDb: rxAtSea ? 0 : locationLossDb(input.locationPct ?? 50, input.locationSigmaDb ?? 0),
    deltaN: input.deltaN ?? 45,
    n0: input.n0 ?? 325,
    dct: zones?.[0] === ZONE.sea ? 0 : (input.txCoastKm ?? 500),
    dcr: rxAtSea ? 0 : (input.rxCoastKm ?? 500),
    latitudeDeg,
    ...zoneLengths(distancesKm, zones, n),
    bothPasses: true,
  };
}

const scratch = new Float64Array(P1812_SLOTS);

/**
 * Basic transmission loss not exceeded for a share of time and locations, point to area.
 * Reads the profile's obstacles in the actual-profile diffraction term only.
 * @returns loss (dB) and every intermediate; NaN where the profile has a void; never throws
 * Accuracy: every intermediate of the published cases to 1e-6.
 * Stated range: 30 MHz–6 GHz, 0.25–3000 km, antennas 1–3000 m above ground, time 1–50 %, locations 1–99 %.
 * Source: Rec. ITU-R P.1812-6 §4; the published results of the implementation for P.1812-8 are the same.
 */
export function p1812(profile: RadioProfile, input: P1812Input): P1812Result {
  p1812Into(profile.distancesKm, profile.groundM, profile.obstacleM, profile.n, p1812Link(profile, input), scratch);
  const result = { lossDb: scratch[0]! } as P1812Result;
  for (let i = 0; i < P1812_SLOTS; i++) result[P1812_PARTS[i]!] = scratch[i]!;
  return result;
}
