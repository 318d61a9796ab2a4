import { addSpot, type Cover, emptyCover } from "./cover.kernel.ts";
import { type LayoutInstance, MUST_WORTH } from "./instance.ts";

export interface Choice {
  /** Spot indices, rising. */
  set: number[];
  mustsMet: number;
  score: number;
}

/** Scores nearer than this are the same. */
export const EPS = 1e-9;

export const coverOf = (p: LayoutInstance, set: readonly number[]): Cover => {
  const cover = emptyCover(p);
  for (const s of set) addSpot(p, cover, s);
  return cover;
};

export function choiceOf(p: LayoutInstance, set: readonly number[]): Choice {
  const sorted = [...set].sort((a, b) => a - b);
  const cover = coverOf(p, sorted);
  return { set: sorted, mustsMet: cover.mustsMet, score: cover.score };
}

/** Musts first, then score. Negative: a is better. */
export const compareChoices = (a: Choice, b: Choice): number =>
  b.mustsMet - a.mustsMet || (Math.abs(a.score - b.score) <= EPS ? 0 : b.score - a.score);

const fits = (p: LayoutInstance, set: readonly number[], spot: number): boolean =>
  set.every((s) => s !== spot && p.conflict[s * p.spots + spot] === 0);

/** Leads toward musts: a must half served is worth half of it. */
function pull(p: LayoutInstance, set: readonly number[]): number {
  const cover = coverOf(p, set);
  let sum = cover.score;
  for (let m = 0; m < p.mustNeed.length; m++)
    sum += MUST_WORTH * (p.mustNeed[m]! <= 0 ? 1 : Math.min(1, cover.counted[m]! / p.mustNeed[m]!));
  return sum;
}

const worthOf = (p: LayoutInstance, set: readonly number[]): number => {
  const cover = coverOf(p, set);
  return MUST_WORTH * cover.mustsMet + cover.score;
};
const scoreOf = (p: LayoutInstance, set: readonly number[]): number => coverOf(p, set).score;

/** One unit after the other, each where it adds most; ties go to the lower index. A unit that adds nothing is not placed. */
export function greedy(
  p: LayoutInstance,
  value: (p: LayoutInstance, set: readonly number[]) => number = pull,
): number[] {
  const set: number[] = [];
  while (set.length < p.units) {
    let best = -1;
    let bestValue = value(p, set) + EPS;
    for (let s = 0; s < p.spots; s++) {
      if (!fits(p, set, s)) continue;
      const v = value(p, [...set, s]);
      if (v > bestValue + EPS) {
        best = s;
        bestValue = v;
      }
    }
    if (best < 0) break;
    set.push(best);
  }
  return set;
}

/** Exchanges one unit for another spot as long as that helps: always the exchange that helps most. */
export function exchange(
  p: LayoutInstance,
  start: readonly number[],
  value: (p: LayoutInstance, set: readonly number[]) => number,
): number[] {
  let set = [...start];
  let now = value(p, set);
  for (let round = 0; round < 100; round++) {
    let best: number[] | null = null;
    let bestValue = now + EPS;
    for (let u = 0; u < set.length; u++) {
      const rest = set.filter((_, i) => i !== u);
      for (let s = 0; s < p.spots; s++) {
        if (!fits(p, rest, s)) continue;
        const v = value(p, [...rest, s]);
        if (v > bestValue + EPS) {
          best = [...rest, s];
          bestValue = v;
        }
      }
    }
    if (best === null) break;
    set = best;
    now = bestValue;
  }
  return set;
}

/** Best of four starts (musts first, score alone; each with exchange), as a choice. */
export function greedyExchange(p: LayoutInstance): Choice {
  const found = [pull, worthOf, scoreOf].map((value) => {
    const set = exchange(p, greedy(p, value), value);
    return choiceOf(p, exchange(p, set, worthOf));
  });
  return found.reduce((a, b) => (compareChoices(b, a) < 0 ? b : a));
}
