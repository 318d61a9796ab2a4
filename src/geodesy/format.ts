import { toUsng } from "./mgrs.ts";
import { requirePlace } from "./place.ts";
import type { LngLat, Notation } from "./types.ts";
import { toUtm } from "./utm.ts";

const DEFAULT_DIGITS: Record<Notation, number> = { dd: 5, dm: 3, dms: 1, utm: 0, usng: 5 };

/** Splits an angle into whole degrees, whole minutes and the rest so that nothing ever reads 60. */
function sexagesimal(angleDeg: number, parts: 2 | 3, digits: number): string {
  const scale = 10 ** digits;
  const perDegree = parts === 2 ? 60 : 3600;
  let units = Math.round(Math.abs(angleDeg) * perDegree * scale);
  const last = units % (60 * scale);
  units = (units - last) / (60 * scale);
  const lastText = (last / scale).toFixed(digits).padStart(digits === 0 ? 2 : digits + 3, "0");
  if (parts === 2) return `${String(units).padStart(2, "0")}°${lastText}'`;
  return `${String(Math.floor(units / 60)).padStart(2, "0")}°${String(units % 60).padStart(2, "0")}'${lastText}"`;
}

/**
 * A place in one of the notations read by parseCoordinate; what this writes, that reads back without a warning.
 * @param digits  decimals of the last part (degrees, minutes, seconds, metres), or digits per coordinate for usng;
 *                defaults 5, 3, 1, 0, 5: about a metre, two, three, one, one
 * Latitude stands first with its letter, as ISO 6709 Annex D shows for people. UTM metres are cut off, not rounded,
 * so that their last digits are the USNG's. Throws geodesy.out-of-range for UTM and USNG near the poles.
 */
export function formatCoordinate(place: LngLat, notation: Notation, digits = DEFAULT_DIGITS[notation]): string {
  requirePlace(place, "place");
  const ns = place.lat < 0 ? "S" : "N";
  const ew = place.lng < 0 ? "W" : "E";
  switch (notation) {
    case "dd":
      return `${Math.abs(place.lat).toFixed(digits)}°${ns} ${Math.abs(place.lng).toFixed(digits)}°${ew}`;
    case "dm":
      return `${sexagesimal(place.lat, 2, digits)}${ns} ${sexagesimal(place.lng, 2, digits)}${ew}`;
    case "dms":
      return `${sexagesimal(place.lat, 3, digits)}${ns} ${sexagesimal(place.lng, 3, digits)}${ew}`;
    case "utm": {
      const { zone, band, eastingM, northingM } = toUtm(place);
      const scale = 10 ** digits;
      const cut = (metres: number) => (Math.floor((metres + 1e-6) * scale) / scale).toFixed(digits);
      return `${String(zone).padStart(2, "0")}${band} ${cut(eastingM)} ${cut(northingM)}`;
    }
    case "usng":
      return toUsng(place, Math.min(5, Math.max(1, Math.round(digits))) as 1 | 2 | 3 | 4 | 5);
  }
}
