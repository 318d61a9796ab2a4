import { addSpot, type Cover, copyCover, emptyCover, mustGains, scoreGain } from "./cover.kernel.ts";
import { type Choice, choiceOf, compareChoices, EPS, greedyExchange } from "./greedy.ts";
import type { LayoutInstance } from "./instance.ts";

export interface ExactChoice extends Choice {
  /** The whole tree was searched or bounded away: nothing serves more musts, nor as many at a higher score. */
  proven: boolean;
  /** Sparse entries visited. */
  work: number;
}

/** Sparse entries a search may visit: a second or two. Counted, not timed, so that every machine gives the same answer. */
export const WORK_LIMIT = 3e8;

interface Level {
  cover: Cover;
  gain: Float64Array;
  must: Int32Array;
  /** Largest entries seen, for the sums of the best few. */
  top: Float64Array;
}

/**
 * Branch and bound over sets of at most `units` spots: most musts served, then the highest score. A node is left when its score plus the
 * largest gains still open, and the musts still within reach, cannot beat the best set known. Ties stay with the set found first.
 * @param options.mustsOnly look for any set that serves every must and stop at it; the score is left aside
 */
export function exactChoice(
  p: LayoutInstance,
  options: { start?: Choice; workLimit?: number; mustsOnly?: boolean } = {},
): ExactChoice {
  const workLimit = options.workLimit ?? WORK_LIMIT;
  const musts = p.mustNeed.length;
  const n = p.spots;
  const mustsOnly = options.mustsOnly === true;
  let best = options.start ?? (mustsOnly ? choiceOf(p, []) : greedyExchange(p));
  let work = 0;
  let out = false;
  const chosen: number[] = [];
  const levels: Level[] = Array.from({ length: p.units + 1 }, () => ({
    cover: emptyCover(p),
    gain: new Float64Array(n),
    must: new Int32Array(n * musts),
    top: new Float64Array(Math.max(1, p.units)),
  }));
  const cost = (s: number): number => p.start[s + 1]! - p.start[s]! + p.mustStart[s + 1]! - p.mustStart[s]! + 4;

  /** Sum of the `count` largest of value(c) over the candidates. */
  const topOf = (candidates: readonly number[], count: number, top: Float64Array, value: (c: number) => number) => {
    top.fill(0);
    for (const c of candidates) {
      let v = value(c);
      for (let j = 0; j < count; j++)
        if (v > top[j]!) {
          const held = top[j]!;
          top[j] = v;
          v = held;
        }
    }
    let sum = 0;
    for (let j = 0; j < count; j++) sum += top[j]!;
    return sum;
  };

  const record = (cover: Cover): void => {
    const found: Choice = { set: [...chosen].sort((a, b) => a - b), mustsMet: cover.mustsMet, score: cover.score };
    if (compareChoices(found, best) < 0) best = found;
  };
  const beats = (mustsMet: number, score: number): boolean =>
    mustsOnly
      ? mustsMet === musts && best.mustsMet < musts
      : mustsMet > best.mustsMet || (mustsMet === best.mustsMet && score > best.score + EPS);

  const visit = (depth: number, allowed: readonly number[]): void => {
    const level = levels[depth]!;
    const { cover, gain, must, top } = level;
    record(cover);
    const left = p.units - depth;
    if (left === 0 || allowed.length === 0 || out) return;
    if (mustsOnly && best.mustsMet === musts) return;
    for (const c of allowed) {
      gain[c] = scoreGain(p, cover, c);
      mustGains(p, cover, c, must, c * musts);
      work += cost(c);
    }
    if (work > workLimit) {
      out = true;
      return;
    }
    let reachable = cover.mustsMet;
    let scarce = -1;
    let helpers = Number.POSITIVE_INFINITY;
    for (let m = 0; m < musts; m++) {
      if (cover.counted[m]! >= p.mustNeed[m]!) continue;
      if (cover.counted[m]! + topOf(allowed, left, top, (c) => must[c * musts + m]!) < p.mustNeed[m]!) continue;
      reachable++;
      let count = 0;
      for (const c of allowed) if (must[c * musts + m]! > 0) count++;
      if (count < helpers) {
        helpers = count;
        scarce = m;
      }
    }
    if (!beats(reachable, cover.score + topOf(allowed, left, top, (c) => gain[c]!))) return;
    // Where every must still in reach is needed, one of the scarcest must's helpers has to be in the set.
    const needAll = scarce >= 0 && (mustsOnly || reachable === best.mustsMet);
    const order = [...allowed].sort((a, b) => gain[b]! - gain[a]! || a - b);
    const branch = needAll ? order.filter((c) => must[c * musts + scarce]! > 0) : order;
    const open = new Set(order);
    const next = levels[depth + 1]!;
    for (const c of branch) {
      open.delete(c);
      const rest = order.filter((o) => open.has(o) && p.conflict[c * n + o] === 0);
      if (!beats(reachable, cover.score + gain[c]! + topOf(rest, left - 1, top, (o) => gain[o]!))) continue;
      copyCover(cover, next.cover);
      addSpot(p, next.cover, c);
      chosen.push(c);
      visit(depth + 1, rest);
      chosen.pop();
      if (out) return;
    }
  };
  visit(
    0,
    Array.from({ length: n }, (_, i) => i),
  );
  return { ...choiceOf(p, best.set), proven: !out, work };
}
