import { normalQuantile } from "./normal.ts";

export type BuildingClass = "traditional" | "efficient";

/** Coefficients r s t u v w x y z of Rec. ITU-R P.2109-1 Table 1. */
const COEFFICIENTS: Record<BuildingClass, readonly number[]> = {
  traditional: [12.64, 3.72, 0.96, 9.6, 2.0, 9.1, -3.0, 4.5, -2.0],
  efficient: [28.19, -3.0, 8.48, 13.5, 3.8, 27.8, -2.9, 9.4, -2.1],
};
const C_DB = -3;

/**
 * Building entry loss not exceeded with a probability.
 * @param buildingClass  traditional, or thermally efficient (metallised glass, foil-backed panels)
 * @param frequencyMHz   80 to 100,000
 * @param elevationDeg   of the path at the facade, degrees; its sign does not matter
 * @param probability    0 < p < 1; 0.5 is the median
 * @returns dB, relative to the level outside; rises with the probability
 * Accuracy: published workbook values to 0.001 dB. Source: Rec. ITU-R P.2109-1 §3
 */
export function entryLossDb(
  buildingClass: BuildingClass,
  frequencyMHz: number,
  elevationDeg: number,
  probability: number,
): number {
  const [r, s, t, u, v, w, x, y, z] = COEFFICIENTS[buildingClass] as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const logF = Math.log10(frequencyMHz / 1000);
  const quantile = normalQuantile(probability);
  const mu1 = r + s * logF + t * logF * logF + 0.212 * Math.abs(elevationDeg);
  const a = quantile * (u + v * logF) + mu1;
  const b = quantile * (y + z * logF) + w + x * logF;
  return 10 * Math.log10(10 ** (0.1 * a) + 10 ** (0.1 * b) + 10 ** (0.1 * C_DB));
}
