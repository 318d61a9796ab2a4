import { normalCdf } from "../link/index.ts";
import { orderSpots } from "./order.ts";
import { normalFrom, seededRandom } from "./random.ts";
import type { Scenario } from "./scenario.ts";
import type { ExaminedSpot } from "./spot-detail.ts";

/** Model errors of two spots toward one point are alike when the spots are close: exp(−d / 50 m). */
const CORRELATION_M = 50;
/** Keeps a plan that states no location variability at all from dividing by zero. */
const SIGMA_FLOOR_DB = 0.01;

export interface Stability {
  firstPct: number;
  topThreePct: number;
  /** Score's 10th and 90th percentile over the draws. */
  scoreRange: [number, number];
}

/** Lower triangle L with L·Lᵀ = the spots' correlation matrix. */
function correlationRoot(spots: readonly ExaminedSpot[]): Float64Array {
  const n = spots.length;
  const root = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      const a = spots[i]!.at;
      const b = spots[j]!.at;
      let sum = Math.exp(-Math.hypot(a.xM - b.xM, a.yM - b.yM) / CORRELATION_M);
      for (let k = 0; k < j; k++) sum -= root[i * n + k]! * root[j * n + k]!;
      // Two spots in one place make the matrix singular: the second then simply repeats the first.
      root[i * n + j] = i === j ? Math.sqrt(Math.max(0, sum)) : root[j * n + j]! > 1e-9 ? sum / root[j * n + j]! : 0;
    }
  return root;
}

/**
 * How firm the order is: seeded draws of the model's error, one per (spot, point, service) and tile, alike between close spots;
 * location variability alone is left in the probability, so that nothing counts twice. Spots are put in order anew in every draw.
 */
export function stability(s: Scenario, spots: readonly ExaminedSpot[], draws: number, seed: number): Stability[] {
  const n = spots.length;
  if (n === 0 || draws === 0) return spots.map(() => ({ firstPct: 0, topThreePct: 0, scoreRange: [0, 0] }));
  const root = correlationRoot(spots);
  const normal = normalFrom(seededRandom(seed));
  const first = new Uint32Array(n);
  const topThree = new Uint32Array(n);
  const scores = spots.map(() => new Float64Array(draws));
  const white = new Float64Array(n);
  const error = new Float64Array(n);
  const correlated = (sigmaDb: number): void => {
    for (let i = 0; i < n; i++) white[i] = normal();
    for (let i = 0; i < n; i++) {
      let sum = 0;
      for (let k = 0; k <= i; k++) sum += root[i * n + k]! * white[k]!;
      error[i] = sum * sigmaDb;
    }
  };

  // One error per (site, service) is shared by the demands that use the same path.
  const groups = new Map<string, number[]>();
  for (const d of s.demands) {
    const key = `${d.site}:${d.serviceIndex}`;
    groups.set(key, [...(groups.get(key) ?? []), d.index]);
  }

  for (let draw = 0; draw < draws; draw++) {
    const sum = new Float64Array(n);
    const short = new Int32Array(n);
    const shortDb = new Float64Array(n);
    for (const demandIndexes of groups.values()) {
      const site = s.sites[s.demands[demandIndexes[0]!]!.site]!;
      const tiles = Math.max(1, site.tiles.length);
      const served = demandIndexes.map(() => new Float64Array(n));
      for (let t = 0; t < tiles; t++) {
        correlated(s.demands[demandIndexes[0]!]!.compiled.sigmaModelDb);
        demandIndexes.forEach((index, di) => {
          const demand = s.demands[index]!;
          for (let i = 0; i < n; i++) {
            const value = spots[i]!.evaluation.values[index]!;
            const marginDb = site.kind === "point" ? value.marginDb : value.tileMarginsDb[t]!;
            if (Number.isNaN(marginDb)) continue;
            const p = normalCdf((marginDb - error[i]!) / Math.max(demand.compiled.sigmaLocationDb, SIGMA_FLOOR_DB));
            served[di]![i]! += site.kind === "point" ? p : p >= demand.tileTarget ? 1 : 0;
          }
        });
      }
      demandIndexes.forEach((index, di) => {
        const demand = s.demands[index]!;
        for (let i = 0; i < n; i++) {
          const p = served[di]![i]! / tiles;
          sum[i]! += demand.weight * p;
          if (site.rung === "must" && p < demand.target) {
            short[i]!++;
            shortDb[i]! += demand.target - p;
          }
        }
      });
    }
    const extra = (e: ExaminedSpot): number => e.keys.mustsShort - e.evaluation.mustsShort;
    const list = orderSpots(
      spots.map((e, i) => ({
        i,
        keys: {
          ...e.keys,
          score: (100 * sum[i]!) / s.totalWeight,
          mustsShort: short[i]! + extra(e),
          mustShortDb: shortDb[i]!,
          mustsUnknown: e.keys.mustsUnknown,
        },
      })),
    );
    list.forEach(({ item }, place) => {
      if (place === 0) first[item.i]!++;
      if (place < 3) topThree[item.i]!++;
      scores[item.i]![draw] = item.keys.score;
    });
  }
  return spots.map((_, i) => {
    const sorted = scores[i]!.sort();
    const at = (q: number): number => sorted[Math.min(draws - 1, Math.floor(q * draws))]!;
    return {
      firstPct: (100 * first[i]!) / draws,
      topThreePct: (100 * topThree[i]!) / draws,
      scoreRange: [at(0.1), at(0.9)],
    };
  });
}
