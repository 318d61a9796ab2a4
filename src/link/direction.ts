import type { DirectionBudget } from "../plan/outputs/types.ts";

export type Term = DirectionBudget["terms"][number];

/** One direction of a need, fixed but for the path: everything the fast calls use is a number here. */
export interface Direction {
  direction: "downlink" | "uplink";
  /** The chain from transmitter to receiver without path and pattern; values add up to levelAtZeroLossDbm. */
  chain: Term[];
  /** Loss beyond the path loss handed in, at this direction's frequency, dB. */
  shiftDb: number;
  levelAtZeroLossDbm: number;
  /** What stands against the level: noise, interference, what is needed. */
  against: Term[];
  neededDbm: number;
  /** Noise and interference the level is compared with, dBm. */
  noiseDbm: number;
  resourceBlocks: number | null;
  /** Rate at a received level, Mb/s; null where none is computed. */
  rateMbps(levelDbm: number): number | null;
}

export const term = (name: string, value: number, unit: string, source: string): Term => ({
  name,
  value,
  unit,
  source,
});
export const total = (terms: readonly Term[]): number => terms.reduce((sum, t) => sum + t.value, 0);

/** Largest path loss (at the frequency the loss is computed for) that meets the need with the median, pattern at its peak, dB. */
export const maplOf = (d: Direction): number => d.levelAtZeroLossDbm - d.shiftDb - d.neededDbm;

/** Every term of one direction at a path loss and pattern. The signal terms come first and add up to the level. */
export function directionBudget(d: Direction, lossDb: number, patternDb: number): DirectionBudget {
  const levelDbm = d.levelAtZeroLossDbm - d.shiftDb + patternDb - lossDb;
  const signal = [
    ...d.chain,
    term("antenna pattern toward the terminal", patternDb, "dB", "pattern of the unit's antenna, relative to its peak"),
    term("path loss", -lossDb, "dB", "propagation model, at the downlink frequency"),
  ];
  if (d.shiftDb !== 0)
    signal.push(term("uplink frequency", -d.shiftDb, "dB", "free-space term 20·log10(f_ul/f_dl), Rec. ITU-R P.525"));
  return {
    direction: d.direction,
    terms: [...signal, ...d.against],
    levelDbm,
    sinrDb: levelDbm - d.noiseDbm,
    rateMbps: d.rateMbps(levelDbm),
    maplDb: maplOf(d),
    marginDb: levelDbm - d.neededDbm,
    resourceBlocks: d.resourceBlocks,
  };
}
