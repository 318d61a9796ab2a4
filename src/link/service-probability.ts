import { normalCdf as exactCdf } from "../propagation/normal.ts";
import { entryLossDb } from "../propagation/p2109.ts";
import { NORMAL_TABLE, normalCdf, readDistribution, type SmoothTable, tabulate } from "./normal.ts";

/** Below this the outdoor probability is a step for all purposes, dB. */
const SIGMA_FLOOR_DB = 0.01;
/** Indoors the entry loss spreads by 10 dB and more; a σ below this changes nothing that could be shown, dB. */
const INDOOR_SIGMA_FLOOR_DB = 1;
const QUADRATURE_REACH = 5.5;

/** P(service) from the margin over everything but the entry loss, dB. */
export interface ServiceProbability {
  table: SmoothTable;
  perDb: number;
}

/** Out of doors: Φ(margin/σ). */
export const outdoorProbability = (sigmaDb: number): ServiceProbability => ({
  table: NORMAL_TABLE,
  perDb: 1 / Math.max(sigmaDb, SIGMA_FLOOR_DB),
});

/**
 * Indoors: Φ((margin − entry loss)/σ) averaged over the distribution of the entry loss, by the trapezoidal rule in the
 * normal deviate (exponentially convergent: the integrand dies off at both ends). Tabled once, read like Φ.
 * @param sigmaDb  standard deviation of everything else, dB
 * Accuracy: 1e-7 against the quadrature itself. Source: Rec. ITU-R P.2109-1, horizontal path at the facade
 */
export function indoorProbability(
  buildingClass: "traditional" | "efficient",
  frequencyMHz: number,
  sigmaDb: number,
): ServiceProbability {
  const sigma = Math.max(sigmaDb, INDOOR_SIGMA_FLOOR_DB);
  const step = Math.min(0.1, sigma / 50);
  const count = 2 * Math.ceil(QUADRATURE_REACH / step) + 1;
  const losses = new Float64Array(count);
  const weights = new Float64Array(count);
  let total = 0;
  for (let i = 0; i < count; i++) {
    const z = (i - (count - 1) / 2) * step;
    losses[i] = entryLossDb(buildingClass, frequencyMHz, 0, exactCdf(z));
    weights[i] = Math.exp((-z * z) / 2);
    total += weights[i]!;
  }
  for (let i = 0; i < count; i++) weights[i]! /= total;
  const value = (x: number) => {
    let sum = 0;
    for (let i = 0; i < count; i++) sum += weights[i]! * normalCdf(x - losses[i]! / sigma);
    return sum;
  };
  const slope = (x: number) => {
    let sum = 0;
    for (let i = 0; i < count; i++) {
      const u = x - losses[i]! / sigma;
      if (u > -8 && u < 8) sum += weights[i]! * Math.exp((-u * u) / 2);
    }
    return sum / Math.sqrt(2 * Math.PI);
  };
  const from = losses[0]! / sigma - 8;
  const to = losses[count - 1]! / sigma + 8;
  return { table: tabulate(from, to, 16, value, slope), perDb: 1 / sigma };
}

/** Reads a probability; NaN for NaN. No allocation. */
export const probabilityAt = (p: ServiceProbability, marginDb: number): number =>
  readDistribution(p.table, marginDb * p.perDb);
