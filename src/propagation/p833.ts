export type Leaf = "leaf-on" | "leaf-off";

/**
 * Mixed coniferous and deciduous woodland near St Petersburg: MHz, γ (dB/m), A_m (dB).
 * Source: Rec. ITU-R P.833-9 §2.1, table of measured values, as quoted by a secondary source.
 */
const TABLE: readonly (readonly [mhz: number, gamma: number, most: number])[] = [
  [105.9, 0.04, 9.4],
  [466.475, 0.12, 18.0],
  [949.0, 0.17, 26.5],
  [1852.2, 0.3, 29.0],
  [2117.5, 0.34, 34.1],
];
export const P833_RANGE_MHZ: readonly [number, number] = [105.9, 2117.5];

/** Share of the loss in dB that bare trees keep. From memory: leaves add about a fifth. */
export const LEAF_OFF_SHARE = 0.83;

/**
 * Specific attenuation and greatest attenuation of woodland.
 * Between rows: straight lines in log f against log γ and log A_m, held at the ends (a choice; the Recommendation draws a curve).
 */
export function woodland(frequencyMHz: number): { gammaDbPerM: number; Am: number } {
  const last = TABLE.length - 1;
  let i = 0;
  while (i < last - 1 && frequencyMHz > TABLE[i + 1]![0]) i++;
  const [f0, g0, m0] = TABLE[i]!;
  const [f1, g1, m1] = TABLE[i + 1]!;
  const u = Math.min(Math.max(Math.log(frequencyMHz / f0) / Math.log(f1 / f0), 0), 1);
  return { gammaDbPerM: g0 * (g1 / g0) ** u, Am: m0 * (m1 / m0) ** u };
}

/**
 * Loss in excess of free space of a path with one terminal in woodland, A_ev = A_m·(1 − exp(−d·γ/A_m)).
 * @param lengthM      length of the path inside vegetation, m, >= 0
 * @param frequencyMHz 105.9–2117.5 MHz measured; the end values are held beyond
 * @param leaf         leaf-off takes 0.83 of the loss
 * @returns dB, 0…A_m, rising with length; NaN for NaN
 * Source: Rec. ITU-R P.833-9 §2.1, eq. (1).
 */
export function vegetationLossDb(lengthM: number, frequencyMHz: number, leaf: Leaf): number {
  if (lengthM <= 0) return 0;
  const { gammaDbPerM, Am } = woodland(frequencyMHz);
  const loss = -Am * Math.expm1((-lengthM * gammaDbPerM) / Am);
  return leaf === "leaf-off" ? LEAF_OFF_SHARE * loss : loss;
}

/** The curve of vegetationLossDb as the two numbers a sweep needs; leaf-off scales both, which scales the loss. */
export function vegetationParameters(frequencyMHz: number, leaf: Leaf): { specificDbPerM: number; maximumDb: number } {
  const { gammaDbPerM, Am } = woodland(frequencyMHz);
  const share = leaf === "leaf-off" ? LEAF_OFF_SHARE : 1;
  return { specificDbPerM: share * gammaDbPerM, maximumDb: share * Am };
}
