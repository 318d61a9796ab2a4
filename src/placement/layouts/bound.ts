import { addSpot, emptyCover, scoreGain } from "./cover.kernel.ts";
import type { LayoutInstance } from "./instance.ts";

/** Sum of the k largest values; 0 for none. */
export function topSum(values: Float64Array, k: number): number {
  const sorted = Float64Array.from(values).sort();
  let sum = 0;
  for (let i = sorted.length - 1; i >= 0 && i >= sorted.length - k; i--) sum += sorted[i]!;
  return sum;
}

/**
 * No k spots score more than this. The score is monotone and submodular, so for every set A the optimum is at most
 * f(A) + the k largest marginal gains over A (Nemhauser, Wolsey and Fisher 1978, Mathematical Programming 14, prop. 2.2);
 * the least over all beginnings of the given sets is taken, and a unit on
 * every spot is a bound too. Separation and musts only lower the optimum, so they may be left out.
 * @returns score points, ≥ the score of every layout of k units
 */
export function submodularBound(p: LayoutInstance, sets: readonly (readonly number[])[]): number {
  const gains = new Float64Array(p.spots);
  const all = emptyCover(p);
  for (let s = 0; s < p.spots; s++) addSpot(p, all, s);
  let bound = all.score;
  for (const set of [[], ...sets]) {
    const cover = emptyCover(p);
    for (let i = 0; i <= set.length; i++) {
      for (let s = 0; s < p.spots; s++) gains[s] = scoreGain(p, cover, s);
      bound = Math.min(bound, cover.score + topSum(gains, p.units));
      if (i < set.length) addSpot(p, cover, set[i]!);
    }
  }
  return bound;
}
