import { freeSpaceLossDb, slantKm } from "./p525.ts";
import { DELTA, DELTA_SLOTS, deltaBullingtonInto } from "./p526.kernel.ts";
import type { LinkEnds, RadioProfile } from "./profile.ts";

/** Median effective Earth radius the Recommendation's published examples use, km. */
export const P526_RADIUS_KM = 8500;

export interface DeltaBullingtonLink extends LinkEnds {
  /** Effective Earth radius, km; default 8500. */
  effectiveRadiusKm?: number;
  /** Share of the path over sea, 0…1; default 0. */
  seaFraction?: number;
}

export interface DeltaBullingtonResult {
  /** Basic transmission loss: free space over the slant distance plus Ld, dB. */
  lossDb: number;
  Lbfs: number;
  /** Diffraction loss, dB, >= 0. */
  Ld: number;
  Lbulla: number;
  Lbulls: number;
  Ldsph: number;
  /** Smooth-surface heights and antenna heights above them, m. */
  hst: number;
  hsr: number;
  hstd: number;
  hsrd: number;
  htep: number;
  hrep: number;
}

const scratch = new Float64Array(DELTA_SLOTS);

/**
 * Delta-Bullington diffraction loss over a profile, plus free space.
 * Obstacles enter only the Bullington term of the actual profile, so adding one never lowers the loss.
 * @param profile distances km, heights m AMSL
 * @returns every term, dB and m; NaN where the profile has a void; never throws
 * Accuracy: the published terms of the 20 examples to their printed digits (speed of light 3·10⁸ m/s, as in the examples).
 * Source: Rec. ITU-R P.526-15 §4.5, with §3.2 for the smooth Earth.
 */
export function deltaBullington(profile: RadioProfile, link: DeltaBullingtonLink): DeltaBullingtonResult {
  const { distancesKm, groundM, obstacleM, n } = profile;
  const hts = groundM[0]! + link.txHeightM;
  const hrs = groundM[n - 1]! + link.rxHeightM;
  deltaBullingtonInto(
    distancesKm,
    groundM,
    obstacleM,
    n,
    hts,
    hrs,
    link.effectiveRadiusKm ?? P526_RADIUS_KM,
    link.frequencyMHz / 1000,
    3,
    link.polarization === "vertical" ? 1 : 0,
    link.seaFraction ?? 0,
    scratch,
  );
  const Lbfs = freeSpaceLossDb(slantKm(distancesKm[n - 1]!, hts, hrs), link.frequencyMHz);
  const Ld = scratch[DELTA.Ld]!;
  return {
    lossDb: Lbfs + Ld,
    Lbfs,
    Ld,
    Lbulla: scratch[DELTA.Lbulla]!,
    Lbulls: scratch[DELTA.Lbulls]!,
    Ldsph: scratch[DELTA.Ldsph]!,
    hst: scratch[DELTA.hst]!,
    hsr: scratch[DELTA.hsr]!,
    hstd: scratch[DELTA.hstd]!,
    hsrd: scratch[DELTA.hsrd]!,
    htep: scratch[DELTA.htep]!,
    hrep: scratch[DELTA.hrep]!,
  };
}
