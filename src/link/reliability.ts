import { normalCdf } from "../propagation/normal.ts";
import { inverseNormal } from "./normal.ts";

/**
 * Point reliability: the share of like places at which the level holds.
 * @param marginDb  median level less the level needed, dB
 * @param sigmaDb   standard deviation of the level, dB, > 0
 */
export const pointReliability = (marginDb: number, sigmaDb: number): number => normalCdf(marginDb / sigmaDb);

/** Margin for a point reliability, dB: σ·Φ⁻¹(p). */
export const pointMarginDb = (probability: number, sigmaDb: number): number => sigmaDb * inverseNormal(probability);

/**
 * Area reliability: the share of a round area about the unit at which the level holds, when the margin is that of its edge.
 * Always greater than the point reliability at the edge: the two are different numbers and are labelled so.
 * @param edgeMarginDb  median level at the edge less the level needed, dB
 * @param sigmaDb       standard deviation, dB, > 0
 * @param exponent      power with which loss rises with distance (2 free space, 3.5 usual, 4 plane earth), > 0
 * Source: W. C. Jakes, Microwave Mobile Communications (1974) §2.5.3, eq. (2.5-15), written with Φ.
 */
export function areaReliability(edgeMarginDb: number, sigmaDb: number, exponent: number): number {
  const z = edgeMarginDb / sigmaDb;
  const b = (10 * exponent * Math.LOG10E) / sigmaDb;
  // ∫ over the disk of Φ(z − b ln r)·2r dr, r from 0 to the edge at 1.
  return normalCdf(z) + Math.exp(2 / (b * b) + (2 * z) / b) * normalCdf(-(z + 2 / b));
}

/** Margin at the edge for an area reliability, dB. */
export function areaMarginDb(share: number, sigmaDb: number, exponent: number): number {
  let low = -20 * sigmaDb;
  let high = 20 * sigmaDb;
  for (let i = 0; i < 80; i++) {
    const mid = (low + high) / 2;
    if (areaReliability(mid, sigmaDb, exponent) < share) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}
