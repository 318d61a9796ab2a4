import type { DecidedBy } from "../plan/outputs/types.ts";
import type { Standing } from "./terms.ts";

/** Scores this close are told apart by the rungs below the score. */
export const TIE_SCORE = 0.5;

/** What the order looks at, from the first rung to the last. */
export interface OrderKeys extends Standing {
  noGo: boolean;
  /** Independent ways back to the network that pass. */
  redundancy: number;
  /** Place of the best passing way back in the plan's order; lower is better, Infinity when none passes. */
  backhaulRank: number;
  /** A way back exists only if an unknown turns out well. */
  backhaulUnknown: boolean;
  clearanceDeg: number;
  waysOut: number;
  /** Last resort: position of the cell, so that the same plan always gives the same list. */
  index: number;
}

const EPS = 1e-9;
/** Clearances are compared as they are shown, to a tenth of a degree; none at all comes last. */
const tenths = (deg: number): number => (Number.isFinite(deg) ? Math.round(deg * 10) : -1e6);

/** Rungs above the score: negative when a comes first. */
function beforeScore(a: OrderKeys, b: OrderKeys): { sign: number; rung: DecidedBy } {
  if (a.noGo !== b.noGo) return { sign: a.noGo ? 1 : -1, rung: "stand" };
  if (a.mustsShort !== b.mustsShort) return { sign: a.mustsShort - b.mustsShort, rung: "musts" };
  if (Math.abs(a.mustShortDb - b.mustShortDb) > EPS) return { sign: a.mustShortDb - b.mustShortDb, rung: "musts" };
  if (a.mustsUnknown !== b.mustsUnknown) return { sign: a.mustsUnknown - b.mustsUnknown, rung: "unknown-musts" };
  if (a.backhaulUnknown !== b.backhaulUnknown) return { sign: a.backhaulUnknown ? 1 : -1, rung: "unknown-musts" };
  return { sign: 0, rung: "score" };
}

/** Rungs among equals in score. */
function afterScore(a: OrderKeys, b: OrderKeys): { sign: number; rung: DecidedBy } {
  if (a.redundancy !== b.redundancy) return { sign: b.redundancy - a.redundancy, rung: "redundancy" };
  if (a.backhaulRank !== b.backhaulRank) return { sign: a.backhaulRank - b.backhaulRank, rung: "backhaul" };
  const clearance = tenths(b.clearanceDeg) - tenths(a.clearanceDeg);
  if (clearance !== 0) return { sign: clearance, rung: "clearance" };
  if (a.waysOut !== b.waysOut) return { sign: b.waysOut - a.waysOut, rung: "access" };
  return { sign: a.index - b.index, rung: "order" };
}

export interface Ordered<T> {
  item: T;
  tied: boolean;
  decidedBy: DecidedBy;
}

/**
 * Puts spots in order: stand, musts (how many, then dB short), unknown musts, score; groups within 0.5 of their first are
 * tied and fall to redundancy, backhaul, dish clearance, access. `decidedBy` is the rung that puts a spot ahead of the next;
 * on the last one, the rung that puts it behind.
 */
export function orderSpots<T extends { keys: OrderKeys }>(spots: readonly T[]): Ordered<T>[] {
  const byScore = [...spots].sort(
    (a, b) => beforeScore(a.keys, b.keys).sign || b.keys.score - a.keys.score || a.keys.index - b.keys.index,
  );
  const groups: T[][] = [];
  for (const spot of byScore) {
    const group = groups.at(-1);
    const head = group?.[0];
    if (group && head && beforeScore(head.keys, spot.keys).sign === 0 && head.keys.score - spot.keys.score <= TIE_SCORE)
      group.push(spot);
    else groups.push([spot]);
  }
  const list = groups.flatMap((g) =>
    [...g].sort((a, b) => afterScore(a.keys, b.keys).sign).map((item) => ({ item, tied: g.length > 1, group: g })),
  );
  const between = (a: (typeof list)[number], b: (typeof list)[number]): DecidedBy => {
    const early = beforeScore(a.item.keys, b.item.keys);
    if (early.sign !== 0) return early.rung;
    return a.group === b.group ? afterScore(a.item.keys, b.item.keys).rung : "score";
  };
  return list.map((entry, i) => ({
    item: entry.item,
    tied: entry.tied,
    decidedBy:
      list.length === 1 ? "first" : i < list.length - 1 ? between(entry, list[i + 1]!) : between(list[i - 1]!, entry),
  }));
}
