import { itmPointToPoint } from "./itm.ts";
import { freeSpaceLossDb, slantKm } from "./p525.ts";
import { DELTA, DELTA_SLOTS, deltaBullingtonInto } from "./p526.kernel.ts";
import { p1812Into } from "./p1812.kernel.ts";
import { type P1812Input, p1812, p1812Link } from "./p1812.ts";
import { P1812_SLOTS } from "./p1812-parts.ts";
import type { RadioProfile } from "./profile.ts";
import type { ModelWarning } from "./types.ts";

/** From here P.1812 stands alone, km: where its stated range begins. */
export const P1812_FROM_KM = 0.25;
/**
 * From here up to P1812_FROM_KM the loss passes from P.526 to P.1812 in a straight line, km. Both agree on most paths; deep behind
 * buildings P.1812 holds the loss down by its scatter term, and a hard switch would jump by many dB there.
 */
export const HANDOVER_FROM_KM = 0.2;
/** From here the second model is asked, km: where its stated range begins. */
export const SECOND_OPINION_FROM_KM = 1;

export interface RefinedLoss {
  /** Basic transmission loss, dB; NaN where the profile has a void. */
  lossDb: number;
  /** The model that weighs more. */
  model: "p526" | "p1812";
  /** Share of P.1812 in the loss: 0 below 0.2 km, 1 from 0.25 km. */
  p1812Share: number;
  /** Terms of that model under its own symbols. */
  parts: Record<string, number>;
  warnings: ModelWarning[];
}

const delta = new Float64Array(DELTA_SLOTS);
const terms = new Float64Array(P1812_SLOTS);

/** Share of P.1812 at a path length: it takes over in a straight line. */
const p1812ShareAt = (distanceKm: number): number =>
  Math.min(Math.max((distanceKm - HANDOVER_FROM_KM) / (P1812_FROM_KM - HANDOVER_FROM_KM), 0), 1);

/** P.526 over the surface profile; its terms stay in `delta`. Free space (dB) is returned. */
function p526Into(profile: RadioProfile, input: P1812Input): number {
  const { distancesKm, groundM, obstacleM, n } = profile;
  const hts = groundM[0]! + input.txHeightM;
  const hrs = groundM[n - 1]! + input.rxHeightM;
  const radius = (6371 * 157) / (157 - (input.deltaN ?? 45));
  const vertical = input.polarization === "vertical" ? 1 : 0;
  const fGHz = input.frequencyMHz / 1000;
  deltaBullingtonInto(distancesKm, groundM, obstacleM, n, hts, hrs, radius, fGHz, 3, vertical, 0, delta);
  return freeSpaceLossDb(slantKm(distancesKm[n - 1]!, hts, hrs), input.frequencyMHz);
}

/** refinedLoss without its terms and warnings: the same loss bit for bit, for the many paths of a search. */
export function refinedLossDb(profile: RadioProfile, input: P1812Input): number {
  const share = p1812ShareAt(profile.distancesKm[profile.n - 1]!);
  const near = share < 1 ? p526Into(profile, input) + delta[DELTA.Ld]! : 0;
  if (share === 0) return Math.max(near, 0);
  p1812Into(profile.distancesKm, profile.groundM, profile.obstacleM, profile.n, p1812Link(profile, input), terms);
  const far = terms[0]!;
  return share === 1 ? far : near + (far - near) * share;
}

/**
 * Loss of one path as refined results show it: P.1812 from 0.25 km, P.526 over the surface profile below.
 * Both see the same effective Earth radius, so that they differ only in what they model.
 * @param profile ground and obstacles; a path through canopy is asked for with the canopy left out of obstacleM
 * @returns loss with its terms; range warnings; never throws
 * Source: Rec. ITU-R P.1812-6, P.526-15; the hand-over is our own choice.
 */
export function refinedLoss(profile: RadioProfile, input: P1812Input): RefinedLoss {
  const D = profile.distancesKm[profile.n - 1]!;
  const share = p1812ShareAt(D);
  const warnings: ModelWarning[] = [];
  const f = input.frequencyMHz;
  if (share >= 0.5) {
    if (f < 30 || f > 6000)
      warnings.push({
        code: "p1812.frequency-range",
        text: `the frequency ${f} MHz is outside 30–6000 MHz, the stated range of P.1812`,
      });
    if (D > 3000) warnings.push({ code: "p1812.distance-range", text: `the distance ${D} km is above 3000 km` });
    for (const h of [input.txHeightM, input.rxHeightM])
      if (!(h >= 1 && h <= 3000) && warnings.every((w) => w.code !== "p1812.height-range"))
        warnings.push({
          code: "p1812.height-range",
          text: `an antenna height of ${h} m is outside 1–3000 m, the stated range of P.1812`,
        });
  } else if (f < 30 || f > 50_000)
    warnings.push({
      code: "p526.frequency-range",
      text: `the frequency ${f} MHz is outside 30–50 000 MHz, the stated range of P.526`,
    });

  let near = 0;
  let nearParts: Record<string, number> = {};
  if (share < 1) {
    const Lbfs = p526Into(profile, input);
    near = Lbfs + delta[DELTA.Ld]!;
    nearParts = {
      Lbfs,
      Ld: delta[DELTA.Ld]!,
      Lbulla: delta[DELTA.Lbulla]!,
      Lbulls: delta[DELTA.Lbulls]!,
      Ldsph: delta[DELTA.Ldsph]!,
    };
    if (share === 0) return { lossDb: Math.max(near, 0), model: "p526", p1812Share: 0, parts: nearParts, warnings };
  }
  const { lossDb: far, ...parts } = p1812(profile, input);
  const lossDb = share === 1 ? far : near + (far - near) * share;
  return share >= 0.5
    ? { lossDb, model: "p1812", p1812Share: share, parts, warnings }
    : { lossDb, model: "p526", p1812Share: share, parts: nearParts, warnings };
}

export interface SecondOpinion {
  model: "itm";
  lossDb: number;
  /** Range bits of the model, 0 when it is inside its ranges. */
  bits: number;
  parts: Record<string, number>;
}

/**
 * The irregular terrain model's loss of the same path, from 1 km.
 * It sees bare ground only, so on paths over buildings or trees the difference includes them.
 * @returns null below 1 km, outside the model, or where the profile has a void
 */
export function secondOpinion(profile: RadioProfile, input: P1812Input): SecondOpinion | null {
  if (profile.distancesKm[profile.n - 1]! < SECOND_OPINION_FROM_KM) return null;
  const { lossDb, error, ...parts } = itmPointToPoint(profile, {
    frequencyMHz: input.frequencyMHz,
    txHeightM: input.txHeightM,
    rxHeightM: input.rxHeightM,
    polarization: input.polarization,
    n0: input.n0 ?? 301,
    timePct: input.timePct ?? 50,
  });
  if (error !== 0 || !Number.isFinite(lossDb)) return null;
  return { model: "itm", lossDb, bits: parts.bits, parts };
}
