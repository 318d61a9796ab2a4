import type { XY } from "../geodesy/types.ts";
import { placeOf } from "../terrain/scene.ts";
import type { Scenario } from "./scenario.ts";
import type { Screening } from "./screen.ts";

/** Where a dish that may stand apart would stand: the clear cell nearest to the unit within its cable; null = at the unit. */
export function dishPlace(s: Scenario, screening: Screening, at: XY): XY | null {
  if (!s.dish?.apart) return null;
  const { grid } = s.scene;
  let best: XY | null = null;
  let bestM = s.dish.cableM;
  for (let i = 0; i < screening.cells.length; i++) {
    if (!Number.isFinite(screening.clearanceDeg[i]!)) continue;
    const index = screening.cells[i]!;
    const place = placeOf(grid, index % grid.cols, Math.floor(index / grid.cols));
    const away = Math.hypot(place.xM - at.xM, place.yM - at.yM);
    if (away < grid.cellM / 2) return null;
    if (away <= bestM) {
      best = place;
      bestM = away;
    }
  }
  return best;
}
