import type { CompiledNeed } from "../link/index.ts";
import type { Demand, Site } from "./scenario.ts";

/** What a path to one place gives: NaN loss = unknown. */
export interface PathValue {
  lossDb: number;
  /** Pattern gain toward the terminal relative to the antenna's peak, dB, ≤ 0. */
  patternDb: number;
}

/** Value of one (point, need) term: probability on a point, share of tiles served on an area. NaN = unknown. */
export interface TermValue {
  probability: number;
  /** Least and greatest the term can be once the unknown becomes known. */
  low: number;
  high: number;
  marginDb: number;
  lossDb: number;
  shortDb: number;
  /** Margin of every tile's median sample, dB (NaN unknown); empty on a point. */
  tileMarginsDb: number[];
  tilesServed: number;
  worstTile: number;
  worstProbability: number;
}

/** dB that have to be gained before a need is met with the probability asked for; 0 when it is, NaN when unknown. */
export function shortfallDb(need: CompiledNeed, lossDb: number, patternDb: number, target: number): number {
  if (Number.isNaN(lossDb)) return Number.NaN;
  if (need.probability(lossDb, patternDb) >= target) return 0;
  let low = 0;
  let high = 1;
  while (need.probability(lossDb - high, patternDb) < target && high < 400) high *= 2;
  for (let i = 0; i < 40; i++) {
    const mid = (low + high) / 2;
    if (need.probability(lossDb - mid, patternDb) >= target) high = mid;
    else low = mid;
  }
  return high;
}

/** Median of nine with unknowns counted as lowest, and whether an unknown one decides it. */
export function medianOf(values: Float64Array, count: number): number {
  const known = Array.from(values.subarray(0, count))
    .filter((v) => !Number.isNaN(v))
    .sort((a, b) => a - b);
  const unknown = count - known.length;
  const middle = Math.floor(count / 2);
  return middle < unknown ? Number.NaN : known[middle - unknown]!;
}

const probabilities = new Float64Array(9);
const losses = new Float64Array(9);

/** Values a demand from the paths to its site: one path for a point, nine per tile for an area or route, in tile order. */
export function termValue(demand: Demand, site: Site, paths: readonly PathValue[]): TermValue {
  const need = demand.compiled;
  if (site.kind === "point") {
    const { lossDb, patternDb } = paths[0]!;
    const known = !Number.isNaN(lossDb);
    const p = known ? need.probability(lossDb, patternDb) : Number.NaN;
    return {
      probability: p,
      low: known ? p : 0,
      high: known ? p : 1,
      marginDb: known ? need.marginDb(lossDb, patternDb) : Number.NaN,
      lossDb,
      shortDb: shortfallDb(need, lossDb, patternDb, demand.target),
      tileMarginsDb: [],
      tilesServed: 0,
      worstTile: -1,
      worstProbability: p,
    };
  }
  const tiles = site.tiles.length;
  const margins: number[] = [];
  const tileMarginsDb: number[] = [];
  const tileLoss: number[] = [];
  const shorts: number[] = [];
  let served = 0;
  let unknown = 0;
  let worstTile = -1;
  let worst = Number.POSITIVE_INFINITY;
  for (let t = 0; t < tiles; t++) {
    const count = site.tiles[t]!.samples.length;
    for (let j = 0; j < count; j++) {
      const v = paths[t * 9 + j]!;
      losses[j] = v.lossDb;
      probabilities[j] = Number.isNaN(v.lossDb) ? Number.NaN : need.probability(v.lossDb, v.patternDb);
    }
    const p = medianOf(probabilities, count);
    if (Number.isNaN(p)) {
      unknown++;
      tileMarginsDb.push(Number.NaN);
      continue;
    }
    if (p >= demand.tileTarget) served++;
    if (p < worst) {
      worst = p;
      worstTile = t;
    }
    // The tile's own path is the one whose probability is the median.
    let nearest = 0;
    for (let j = 1; j < count; j++)
      if (
        Math.abs(probabilities[j]! - p) < Math.abs(probabilities[nearest]! - p) ||
        Number.isNaN(probabilities[nearest]!)
      )
        nearest = j;
    const v = paths[t * 9 + nearest]!;
    const marginDb = need.marginDb(v.lossDb, v.patternDb);
    margins.push(marginDb);
    tileMarginsDb.push(marginDb);
    tileLoss.push(v.lossDb);
    shorts.push(shortfallDb(need, v.lossDb, v.patternDb, demand.tileTarget));
  }
  const share = served / tiles;
  const decided = share >= demand.target || share + unknown / tiles < demand.target;
  shorts.sort((a, b) => a - b);
  const required = Math.ceil(demand.target * tiles - 1e-9);
  return {
    probability: unknown > 0 && !decided ? Number.NaN : share,
    low: share,
    high: share + unknown / tiles,
    marginDb: middle(margins),
    lossDb: middle(tileLoss),
    shortDb: share >= demand.target ? 0 : required <= shorts.length ? shorts[required - 1]! : Number.NaN,
    tileMarginsDb,
    tilesServed: served,
    worstTile,
    worstProbability: worstTile < 0 ? Number.NaN : worst,
  };
}

function middle(values: number[]): number {
  if (values.length === 0) return Number.NaN;
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor((sorted.length - 1) / 2)]!;
}

/** A spot's standing at the rungs that follow the stand checks. */
export interface Standing {
  score: number;
  mustsShort: number;
  mustShortDb: number;
  mustsUnknown: number;
}

/** Score 0–100 and musts from the values of all demands (an unknown term counts nothing). */
export function standing(demands: readonly Demand[], sites: readonly Site[], values: readonly TermValue[]): Standing {
  let sum = 0;
  let weight = 0;
  let mustsShort = 0;
  let mustShortDb = 0;
  let mustsUnknown = 0;
  demands.forEach((d, i) => {
    const v = values[i]!;
    weight += d.weight;
    sum += d.weight * v.low;
    if (sites[d.site]!.rung !== "must") return;
    if (v.low >= d.target) return;
    if (v.high >= d.target) mustsUnknown++;
    else {
      mustsShort++;
      mustShortDb += Number.isNaN(v.shortDb) ? 0 : v.shortDb;
    }
  });
  return { score: weight === 0 ? 0 : (100 * sum) / weight, mustsShort, mustShortDb, mustsUnknown };
}
