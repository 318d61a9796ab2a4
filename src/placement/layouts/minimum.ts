import { addSpot, emptyCover } from "./cover.kernel.ts";
import { exactChoice, WORK_LIMIT } from "./exact.ts";
import { choiceOf, exchange, greedy } from "./greedy.ts";
import type { LayoutInstance } from "./instance.ts";

/** How few units serve every must. */
export interface MinimumUnits {
  /** Proven: no fewer do. */
  atLeast: number;
  /** A set that serves every must, as small as was found; null when none was found. */
  set: number[] | null;
  /** Positions (in mustNeed) of musts that all candidate spots together do not serve: no number of units is enough. */
  outOfReach: number[];
}

/** Musts that stay short even with a unit on every candidate spot. */
export function outOfReach(p: LayoutInstance): number[] {
  const cover = emptyCover(p);
  for (let s = 0; s < p.spots; s++) addSpot(p, cover, s);
  return [...p.mustNeed.keys()].filter((m) => cover.counted[m]! < p.mustNeed[m]!);
}

/** The problem without its score: only musts count. */
export function mustsAlone(p: LayoutInstance, units: number): LayoutInstance {
  return {
    ...p,
    units,
    items: 0,
    worth: new Float64Array(0),
    start: new Int32Array(p.spots + 1),
    item: new Int32Array(0),
    value: new Float64Array(0),
  };
}

/**
 * Least number of units that serves every must, a separation apart: searched for one unit, two, and so on, each size in full.
 * @param most units to try at most
 * @param workLimit sparse entries all searches together may visit; beyond it `atLeast` and the greedy set bracket the answer
 */
export function minimumUnits(p: LayoutInstance, most: number, workLimit = WORK_LIMIT): MinimumUnits {
  const missing = outOfReach(p);
  if (p.mustNeed.length === 0) return { atLeast: 0, set: [], outOfReach: [] };
  if (missing.length > 0) return { atLeast: p.spots + 1, set: null, outOfReach: missing };
  const musts = p.mustNeed.length;
  const large = mustsAlone(p, most);
  const quick = choiceOf(
    large,
    exchange(large, greedy(large), (q, set) => choiceOf(q, set).mustsMet),
  );
  const upper = quick.mustsMet === musts ? quick.set : null;
  let left = workLimit;
  const limit = upper ? upper.length - 1 : most;
  let units = 1;
  for (; units <= limit; units++) {
    const found = exactChoice(mustsAlone(p, units), { mustsOnly: true, workLimit: left });
    if (found.mustsMet === musts) return { atLeast: units, set: found.set, outOfReach: [] };
    if (!found.proven) return { atLeast: units, set: upper, outOfReach: [] };
    left -= found.work;
  }
  return { atLeast: units, set: upper, outOfReach: [] };
}
