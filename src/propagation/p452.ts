import { gasAttenuation } from "./p676.ts";
import { p1812Into } from "./p1812.kernel.ts";
import { type P1812Input, p1812Link } from "./p1812.ts";
import { P1812_PARTS, P1812_SLOTS, type P1812Part } from "./p1812-parts.ts";
import type { RadioProfile } from "./profile.ts";

/** Clutter nearer than this to either end is left out, km. */
const CLEAR_ENDS_KM = 0.05;

export interface P452Input extends P1812Input {
  /** Pressure of the air, hPa (default 1013.25), and temperature, kelvin (default 288.15), for gaseous absorption. */
  pressureHPa?: number;
  temperatureK?: number;
}

/** Symbols as in the published rows: Ldsph is that of the median radius, Ag the gases along the path. */
export type P452Result = {
  lossDb: number;
  Ag: number;
  Lbfsg: number;
  Lb0b: number;
  Ldsph: number;
  dtot: number;
} & Partial<Record<P1812Part, number>>;

/** Obstacle heights with clutter dropped near both ends. */
export function p452Obstacles(profile: RadioProfile): Float64Array {
  const { distancesKm: d, groundM, obstacleM, n } = profile;
  if (obstacleM === groundM) return groundM;
  const D = d[n - 1]!;
  return groundM.map((h, i) => (d[i]! < CLEAR_ENDS_KM || d[i]! > D - CLEAR_ENDS_KM ? h : obstacleM[i]!));
}

/** What P.452 shares with P.1812; ducting and troposcatter, which it computes in its own way, are left out. */
const SHARED: readonly P1812Part[] = P1812_PARTS.filter(
  (name) => !/^(Lb|Lbc|Lba|Lbs|Lminb0p|Lminbap|Lbda|Lbam|Fj|Fk|Ep_1kW|Lb0beta)$/.test(name),
);

const scratch = new Float64Array(P1812_SLOTS);

/**
 * Line-of-sight and diffraction part of the interference method, up to 50 GHz: free space with gases, multipath, delta-Bullington.
 * @returns lossDb = Lb0p + Ldp: without ducting and troposcatter, which may lose less beyond the horizon
 * Accuracy: heights and diffraction of the published rows to 1e-6.
 * Source: Rec. ITU-R P.452-18 §4.1, §4.2, attachment 2 (profile handling of that edition). The formulas are those of P.1812.
 */
export function p452(profile: RadioProfile, input: P452Input): P452Result {
  const link = p1812Link(profile, input);
  p1812Into(profile.distancesKm, profile.groundM, p452Obstacles(profile), profile.n, link, scratch);
  const at = (name: P1812Part): number => scratch[P1812_PARTS.indexOf(name)]!;
  const slantKm = 10 ** ((at("Lbfs") - 92.4 - 20 * Math.log10(link.fGHz)) / 20);
  // Water vapour rises with the share of sea (§4.1, eq. 9a)
  const rho = 7.5 + 2.5 * link.omega;
  const gas = gasAttenuation(input.frequencyMHz, input.pressureHPa ?? 1013.25, input.temperatureK ?? 288.15, rho);
  const Ag = gas.gamma * slantKm;
  const result: P452Result = {
    lossDb: at("Lbd") + Ag,
    Ag,
    Lbfsg: at("Lbfs") + Ag,
    Lb0b: at("Lb0beta") + Ag,
    Ldsph: at("Ldsph_50"),
    dtot: at("d"),
  };
  for (const name of SHARED) result[name] = at(name);
  result.Lb0p = at("Lb0p") + Ag;
  result.Lbd50 = at("Lbd50") + Ag;
  result.Lbd = result.lossDb;
  return result;
}
