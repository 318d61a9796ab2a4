import { type ServedMatrix, tilesNeeded } from "./served.ts";

/** What a set of spots gives one demand. */
export interface DemandStanding {
  demand: number;
  /** Probability (point) or share of tiles (area) from the best of the spots; unknown counts nothing. */
  share: number;
  /** The same once every unknown turned out well. */
  high: number;
  /** Share served by at least two spots; on a point 0 or 1. */
  twoShare: number;
  /** Share served by at least one; on a point 0 or 1. */
  oneShare: number;
  met: boolean;
  /** Tiles short of the target; on a point 1 when it is not met. */
  short: number;
  /** Per tile (one entry for a point): bit u is set when spots[u] of the set serves it. */
  servedBy: Uint32Array;
}

/** What a set of spots is worth together. */
export interface LayoutStanding {
  score: number;
  mustsMet: number;
  mustsShort: number;
  /** Musts that are short only because something is unknown. */
  mustsUnknown: number;
  demands: DemandStanding[];
  /** Share of the weight served by at least one, and by at least two, %. */
  servedByOnePct: number;
  servedByTwoPct: number;
}

/**
 * Scores a set of spots straight from the served matrix: points by the best probability, areas by the share of tiles any unit serves.
 * Shares nothing with the searches, so that it checks them.
 * @param set indices of spots, at most 32
 */
export function layoutStanding(matrix: ServedMatrix, set: readonly number[]): LayoutStanding {
  const demands = matrix.demands.map((d): DemandStanding => {
    const servedBy = new Uint32Array(d.tiles);
    const enough = d.isPoint ? d.target : d.tileTarget;
    let one = 0;
    let two = 0;
    let unknown = 0;
    let best = 0;
    let bestHigh = 0;
    for (let t = 0; t < d.tiles; t++) {
      let by = 0;
      let open = false;
      set.forEach((s, u) => {
        const p = d.probability[s * d.tiles + t]!;
        if (Number.isNaN(p)) {
          open = true;
          bestHigh = 1;
          return;
        }
        if (p > best) best = p;
        if (p < enough) return;
        servedBy[t] = (servedBy[t]! | (1 << u)) >>> 0;
        by++;
      });
      if (by >= 1) one++;
      else if (open) unknown++;
      if (by >= 2) two++;
    }
    const oneShare = one / d.tiles;
    const share = d.isPoint ? best : oneShare;
    const high = d.isPoint ? Math.max(best, bestHigh) : (one + unknown) / d.tiles;
    const met = share >= d.target;
    const short = met ? 0 : d.isPoint ? 1 : tilesNeeded(d.target, d.tiles) - one;
    return { demand: d.demand, share, high, oneShare, twoShare: two / d.tiles, met, short, servedBy };
  });
  let score = 0;
  let worth = 0;
  let one = 0;
  let two = 0;
  let mustsMet = 0;
  let mustsShort = 0;
  let mustsUnknown = 0;
  matrix.demands.forEach((d, i) => {
    const got = demands[i]!;
    score += d.worth * got.share;
    worth += d.worth;
    one += d.worth * got.oneShare;
    two += d.worth * got.twoShare;
    if (!d.must) return;
    if (got.met) mustsMet++;
    else if (got.high >= d.target) mustsUnknown++;
    else mustsShort++;
  });
  return {
    score,
    mustsMet,
    mustsShort,
    mustsUnknown,
    demands,
    servedByOnePct: worth === 0 ? 0 : (100 * one) / worth,
    servedByTwoPct: worth === 0 ? 0 : (100 * two) / worth,
  };
}
