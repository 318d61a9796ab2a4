import { HardstandError } from "../errors/index.ts";
import type { LngLat } from "./types.ts";

/** True when both numbers are finite, |lat| ≤ 90 and |lng| ≤ 180. */
export const isPlace = (place: LngLat): boolean => Math.abs(place.lat) <= 90 && Math.abs(place.lng) <= 180;

/** Throws geodesy.out-of-range unless `place` is one (NaN is none). */
export function requirePlace(place: LngLat, where: string): void {
  if (isPlace(place)) return;
  throw new HardstandError("geodesy.out-of-range", `${where} is not a place on Earth`, {
    where,
    received: `lng ${place.lng}, lat ${place.lat}`,
    hint: "longitude runs from -180 to 180, latitude from -90 to 90, degrees",
  });
}
