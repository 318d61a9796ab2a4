import { EPS } from "./greedy.ts";
import type { LayoutInstance } from "./instance.ts";
import type { ServedMatrix } from "./served.ts";
import { type LayoutStanding, layoutStanding } from "./standing.ts";

/** One unit of a layout lost: what the others still do, and the one move of another unit that helps most. */
export interface LostUnit {
  /** Position in the layout. */
  unit: number;
  left: LayoutStanding;
  /** Position of the unit to move, and the spot it moves to; null when no move helps. */
  move: { unit: number; spot: number; after: LayoutStanding } | null;
}

const better = (a: LayoutStanding, b: LayoutStanding): boolean =>
  a.mustsMet > b.mustsMet || (a.mustsMet === b.mustsMet && a.score > b.score + EPS);

/** The lost-unit case of every unit. A move may go to the lost unit's own spot: the unit is gone, the place is not. */
export function lostUnits(p: LayoutInstance, matrix: ServedMatrix, set: readonly number[]): LostUnit[] {
  return set.map((_, unit) => {
    const left = layoutStanding(
      matrix,
      set.filter((_s, i) => i !== unit),
    );
    let move: LostUnit["move"] = null;
    for (let other = 0; other < set.length; other++) {
      if (other === unit) continue;
      const stay = set.filter((_s, i) => i !== unit && i !== other);
      for (let spot = 0; spot < p.spots; spot++) {
        if (spot === set[other] || !stay.every((s) => s !== spot && p.conflict[s * p.spots + spot] === 0)) continue;
        const after = layoutStanding(matrix, [...stay, spot]);
        if (better(after, move?.after ?? left)) move = { unit: other, spot, after };
      }
    }
    return { unit, left, move };
  });
}
