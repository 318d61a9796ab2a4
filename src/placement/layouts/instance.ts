import { type ServedMatrix, tilesNeeded } from "./served.ts";

/**
 * The choice of units as a problem of cover. An item is a point, or all tiles of one area that the same spots serve; it gives its
 * worth times the best value any chosen spot has for it. Must items count what musts ask for. Rows of a spot are sparse.
 */
export interface LayoutInstance {
  spots: number;
  /** Units to place, at most. */
  units: number;
  items: number;
  /** Score points of an item served in full. */
  worth: Float64Array;
  /** Items of spot s stand at start[s] … start[s + 1]. */
  start: Int32Array;
  item: Int32Array;
  /** 0…1. */
  value: Float64Array;
  /** Tiles (1 for a point) a must item counts for, and its must. */
  mustCount: Int32Array;
  mustOf: Int32Array;
  mustStart: Int32Array;
  mustItem: Int32Array;
  /** Tiles every must needs; its demand is in mustDemand. */
  mustNeed: Int32Array;
  mustDemand: Int32Array;
  /** 1 where two spots are nearer than the separation. */
  conflict: Uint8Array;
}

/** One must served weighs more than any score. */
export const MUST_WORTH = 1000;

export interface PlaceXY {
  xM: number;
  yM: number;
}

/** Builds the problem; tiles of one demand with the same spots serving them become one item. */
export function layoutInstance(
  matrix: ServedMatrix,
  places: readonly PlaceXY[],
  options: { units: number; separationM: number },
): LayoutInstance {
  const n = matrix.spots;
  const worth: number[] = [];
  const rows: [number, number][][] = Array.from({ length: n }, () => []);
  const mustRows: number[][] = Array.from({ length: n }, () => []);
  const mustCount: number[] = [];
  const mustOf: number[] = [];
  const mustNeed: number[] = [];
  const mustDemand: number[] = [];
  for (const d of matrix.demands) {
    const must = d.must ? mustNeed.length : -1;
    if (d.must) {
      mustNeed.push(d.isPoint ? 1 : tilesNeeded(d.target, d.tiles));
      mustDemand.push(d.demand);
    }
    const asMust = (count: number, spots: readonly number[]): void => {
      if (must < 0 || spots.length === 0) return;
      for (const s of spots) mustRows[s]!.push(mustCount.length);
      mustCount.push(count);
      mustOf.push(must);
    };
    if (d.isPoint) {
      const enough: number[] = [];
      for (let s = 0; s < n; s++) {
        const p = d.probability[s]!;
        if (p > 0 && d.worth > 0) rows[s]!.push([worth.length, p]);
        if (p >= d.target) enough.push(s);
      }
      worth.push(d.worth);
      asMust(1, enough);
      continue;
    }
    const groups = new Map<string, { spots: number[]; count: number }>();
    for (let t = 0; t < d.tiles; t++) {
      const spots: number[] = [];
      for (let s = 0; s < n; s++) if (d.probability[s * d.tiles + t]! >= d.tileTarget) spots.push(s);
      if (spots.length === 0) continue;
      const key = spots.join(",");
      const group = groups.get(key);
      if (group) group.count++;
      else groups.set(key, { spots, count: 1 });
    }
    for (const { spots, count } of groups.values()) {
      if (d.worth > 0) {
        for (const s of spots) rows[s]!.push([worth.length, 1]);
        worth.push((d.worth * count) / d.tiles);
      }
      asMust(count, spots);
    }
  }
  const flat = <T>(lists: readonly (readonly T[])[]): { start: Int32Array; all: T[] } => {
    const start = new Int32Array(lists.length + 1);
    lists.forEach((l, i) => {
      start[i + 1] = start[i]! + l.length;
    });
    return { start, all: lists.flat() };
  };
  const main = flat(rows);
  const must = flat(mustRows);
  return {
    spots: n,
    units: options.units,
    items: worth.length,
    worth: Float64Array.from(worth),
    start: main.start,
    item: Int32Array.from(main.all, (r) => r[0]),
    value: Float64Array.from(main.all, (r) => r[1]),
    mustCount: Int32Array.from(mustCount),
    mustOf: Int32Array.from(mustOf),
    mustStart: must.start,
    mustItem: Int32Array.from(must.all),
    mustNeed: Int32Array.from(mustNeed),
    mustDemand: Int32Array.from(mustDemand),
    conflict: conflicts(places, options.separationM),
  };
}

function conflicts(places: readonly PlaceXY[], separationM: number): Uint8Array {
  const n = places.length;
  const out = new Uint8Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      const d = Math.hypot(places[i]!.xM - places[j]!.xM, places[i]!.yM - places[j]!.yM);
      if (i !== j && d < separationM) out[i * n + j] = 1;
    }
  return out;
}
