/** Thermal noise, dBm per hertz at 290 K. */
export const NOISE_DBM_PER_HZ = -174;
export const RB_HZ = 180_000;
export const RE_HZ = 15_000;
const RE_PER_RB = 12;

/** Resource blocks of a channel. Source: 3GPP TS 36.101 Table 5.6-1 (standard table, from memory). */
export const RESOURCE_BLOCKS: Readonly<Record<string, number>> = { 1.4: 6, 3: 15, 5: 25, 10: 50, 15: 75, 20: 100 };
export const resourceBlocks = (channelMHz: number): number => RESOURCE_BLOCKS[String(channelMHz)]!;

/** Truncated Shannon bound: what a scheduler with real modulation gets out of a signal-to-noise ratio. */
export interface RateCurve {
  alpha: number;
  /** No throughput below this, dB. */
  minDb: number;
  /** Most bits per second and hertz. */
  cap: number;
  source: string;
}
export const DOWNLINK_CURVE: RateCurve = {
  alpha: 0.6,
  minDb: -10,
  cap: 4.4,
  source: "3GPP TR 36.942 Annex A.1 (α 0.6, −10 dB, 4.4 b/s/Hz)",
};
export const UPLINK_CURVE: RateCurve = {
  alpha: 0.4,
  minDb: -10,
  cap: 2,
  source: "3GPP TR 36.942 Annex A.2 (α 0.4, −10 dB, 2.0 b/s/Hz; from memory)",
};

/**
 * Bits per second and hertz of a signal-to-interference-and-noise ratio.
 * @returns 0 below the curve's minimum, its cap at most. NaN in, NaN out
 * Source: 3GPP TR 36.942 Annex A.1, A.2
 */
export function spectralEfficiency(sinrDb: number, curve: RateCurve): number {
  if (sinrDb < curve.minDb) return 0;
  return Math.min(curve.cap, curve.alpha * Math.log2(1 + 10 ** (sinrDb / 10)));
}

/** Ratio a rate needs over a bandwidth, dB; at least the curve's minimum; +∞ when the cap is below it. */
export function requiredSinrDb(rateMbps: number, bandwidthHz: number, curve: RateCurve): number {
  const efficiency = (rateMbps * 1e6) / bandwidthHz;
  if (efficiency > curve.cap * (1 + 1e-12)) return Number.POSITIVE_INFINITY;
  return Math.max(curve.minDb, 10 * Math.log10(2 ** (efficiency / curve.alpha) - 1));
}

/** Power of one resource element when the port's power is spread evenly over the channel, dBm. */
export const perElementDbm = (powerDbm: number, blocks: number): number =>
  powerDbm - 10 * Math.log10(RE_PER_RB * blocks);

/** Noise power in a bandwidth behind a noise figure, dBm. */
export const noiseDbm = (bandwidthHz: number, noiseFigureDb: number): number =>
  NOISE_DBM_PER_HZ + 10 * Math.log10(bandwidthHz) + noiseFigureDb;

/**
 * How the terminal best spends its power: the number of resource blocks with which a rate is reached at the greatest loss.
 * Fewer blocks concentrate power, more blocks ask less of each; neither end is always best.
 * @param rateMbps  rate needed; 0 asks for the curve's minimum on one block
 * @param levelAtZeroLossDbm  terminal power plus all gains less all losses but the path's, dBm
 * @returns blocks, ratio needed and largest path loss, dB; −∞ when no number carries the rate
 * Any number of blocks is allowed; the standard's restriction to products of 2, 3 and 5 moves the result by under 0.1 dB.
 */
export function bestUplink(
  rateMbps: number,
  levelAtZeroLossDbm: number,
  maxBlocks: number,
  noiseFigureDb: number,
  interferenceMarginDb: number,
): { blocks: number; sinrDb: number; maplDb: number } {
  let best = { blocks: maxBlocks, sinrDb: Number.POSITIVE_INFINITY, maplDb: Number.NEGATIVE_INFINITY };
  for (let blocks = 1; blocks <= maxBlocks; blocks++) {
    const sinrDb = requiredSinrDb(rateMbps, blocks * RB_HZ, UPLINK_CURVE);
    const maplDb = uplinkMaplDb(levelAtZeroLossDbm, blocks, sinrDb, noiseFigureDb, interferenceMarginDb);
    if (maplDb > best.maplDb) best = { blocks, sinrDb, maplDb };
  }
  return best;
}

/** Largest path loss at which `blocks` resource blocks reach a ratio, dB. */
export const uplinkMaplDb = (
  levelAtZeroLossDbm: number,
  blocks: number,
  sinrDb: number,
  noiseFigureDb: number,
  interferenceMarginDb: number,
): number => levelAtZeroLossDbm - noiseDbm(blocks * RB_HZ, noiseFigureDb) - interferenceMarginDb - sinrDb;

/** Highest uplink rate over 1…N blocks at a received level, Mb/s, with the blocks that give it. */
export function uplinkRate(
  levelDbm: number,
  maxBlocks: number,
  noiseFigureDb: number,
  interferenceMarginDb: number,
): { rateMbps: number; blocks: number } {
  let best = { rateMbps: 0, blocks: maxBlocks };
  for (let blocks = 1; blocks <= maxBlocks; blocks++) {
    const sinrDb = levelDbm - noiseDbm(blocks * RB_HZ, noiseFigureDb) - interferenceMarginDb;
    const rateMbps = (spectralEfficiency(sinrDb, UPLINK_CURVE) * blocks * RB_HZ) / 1e6;
    if (rateMbps > best.rateMbps) best = { rateMbps, blocks };
  }
  return best;
}

/** Fewest blocks that carry a rate at a received level; null when none does. */
export function blocksFor(
  rateMbps: number,
  levelDbm: number,
  maxBlocks: number,
  noiseFigureDb: number,
  interferenceMarginDb: number,
): number | null {
  for (let blocks = 1; blocks <= maxBlocks; blocks++) {
    const sinrDb = levelDbm - noiseDbm(blocks * RB_HZ, noiseFigureDb) - interferenceMarginDb;
    if ((spectralEfficiency(sinrDb, UPLINK_CURVE) * blocks * RB_HZ) / 1e6 >= rateMbps) return blocks;
  }
  return null;
}
