import { REASON_UNKNOWN } from "../../engine.ts";
import type { StoredResult } from "../../storage/types.ts";

const kept = new WeakMap<Float32Array, Uint8Array>();
/** Metres of one degree of latitude, near enough to tell within from beyond a radius by a cell. */
const METRES_PER_DEGREE = 111_195;

/**
 * Cells of a coverage that lie within its radius and have no value: unknown, which is neither served nor unserved.
 * @returns a reason per cell as in a suitability surface: 0, or 255 for unknown
 */
export function unknownCells(cover: Extract<StoredResult, { kind: "cover" }>): Uint8Array {
  const known = kept.get(cover.values);
  if (known !== undefined) return known;
  const { grid, values, answer, origin } = cover;
  const unitX = (answer.lng - origin.lng) * METRES_PER_DEGREE * Math.cos((answer.lat * Math.PI) / 180);
  const unitY = (answer.lat - origin.lat) * METRES_PER_DEGREE;
  const reach = answer.radiusM ** 2;
  const out = new Uint8Array(values.length);
  for (let row = 0; row < grid.rows; row++) {
    const dy = grid.northM - (row + 0.5) * grid.cellM - unitY;
    for (let col = 0; col < grid.cols; col++) {
      const dx = grid.westM + (col + 0.5) * grid.cellM - unitX;
      const i = row * grid.cols + col;
      if (Number.isNaN(values[i]!) && dx * dx + dy * dy <= reach) out[i] = REASON_UNKNOWN;
    }
  }
  kept.set(values, out);
  return out;
}
