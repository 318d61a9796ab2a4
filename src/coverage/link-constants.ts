import type { Polarization } from "../propagation/types.ts";
import { DEFAULT_EFFECTIVE_RADIUS_KM } from "./types.ts";

/** Speed of light as the published examples of Rec. ITU-R P.526 take it, m/s. */
const LIGHT_M_PER_S = 3e8;
/** Average land (P.526 §3.1): relative permittivity and conductivity, S/m. */
const LAND_PERMITTIVITY = 22;
const LAND_CONDUCTIVITY = 0.003;

/** What stays the same for every path of one sweep. */
export interface LinkConstants {
  lambdaM: number;
  fGHz: number;
  /** Effective Earth radius, m. */
  radiusM: number;
  /** 20 log f part of free space, with the distance in metres: 32.4 + 20 log f_MHz − 60. */
  freeSpaceDb: number;
  /** K·(a f)^(1/3) of P.526 eq. (29) for the polarization: K = this / ∛(a_km f_GHz). */
  admittance: number;
  /** Of the first term at the effective radius: B = y·h, X = x·d_km, and the floor 10^0.1·K of the linear height gain. */
  yPerM: number;
  xPerKm: number;
  gainFloor: number;
}

/** @param effectiveRadiusKm k·6371, default 4/3 */
export function linkConstants(link: {
  frequencyMHz: number;
  effectiveRadiusKm?: number;
  polarization: Polarization;
}): LinkConstants {
  const fGHz = link.frequencyMHz / 1000;
  const radiusKm = link.effectiveRadiusKm ?? DEFAULT_EFFECTIVE_RADIUS_KM;
  const loss = (18 * LAND_CONDUCTIVITY) / fGHz;
  let admittance = 0.036 * ((LAND_PERMITTIVITY - 1) ** 2 + loss ** 2) ** -0.25;
  if (link.polarization === "vertical") admittance *= Math.sqrt(LAND_PERMITTIVITY ** 2 + loss ** 2);
  const K = admittance / Math.cbrt(radiusKm * fGHz);
  const beta = (1 + 1.6 * K ** 2 + 0.67 * K ** 4) / (1 + 4.5 * K ** 2 + 1.53 * K ** 4);
  return {
    lambdaM: LIGHT_M_PER_S / (link.frequencyMHz * 1e6),
    fGHz,
    radiusM: radiusKm * 1000,
    freeSpaceDb: 32.4 + 20 * Math.log10(link.frequencyMHz) - 60,
    admittance,
    yPerM: 0.9575 * beta * beta * Math.cbrt((fGHz * fGHz) / radiusKm),
    xPerKm: 21.88 * beta * Math.cbrt(fGHz / (radiusKm * radiusKm)),
    gainFloor: 10 ** 0.1 * K,
  };
}
