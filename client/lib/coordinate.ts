import { formatCoordinate } from "../../src/geodesy/format.ts";
import type { LngLat, Notation } from "../../src/geodesy/types.ts";

/** Digits that stand for about ten metres: precision never beyond the data. */
const SCREEN: Record<Notation, number> = { usng: 4, utm: 0, dm: 3, dms: 0, dd: 4 };
const FULL: Record<Notation, number> = { usng: 5, utm: 0, dm: 4, dms: 1, dd: 6 };
const spaced = (usng: string): string => usng;

/**
 * A place in the notation chosen, to about 10 m on screen.
 * @param usng the service's own grid reference, used where USNG cannot be written from the place (near the poles)
 */
export function coordinate(place: LngLat, notation: Notation, usng = "", full = false): string {
  try {
    return spaced(formatCoordinate({ lng: place.lng, lat: place.lat }, notation, (full ? FULL : SCREEN)[notation]));
  } catch {
    return usng === "" ? formatCoordinate(place, "dd", 4) : usng;
  }
}
export const NOTATION_NAME: Record<Notation, string> = {
  usng: "USNG",
  utm: "UTM",
  dm: "degrees and minutes",
  dms: "degrees, minutes, seconds",
  dd: "decimal degrees",
};
