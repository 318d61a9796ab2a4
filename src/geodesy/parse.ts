import { type Axis, type Group, normalise, splitGroups, unreadable } from "./angles.ts";
import { geodesicInverse } from "./geodesic.ts";
import { type CoordinateWarning, type ParsedCoordinate, type ParseOptions, readUsng, readUtm } from "./parse-grid.ts";
import type { LngLat } from "./types.ts";

/** A place further from `near` than this is questioned, metres. */
const FAR_M = 500_000;

/** Value of one coordinate in degrees, with its notation; throws on minutes of 60 and more, or a sign against its letter. */
function angle(group: Group, axis: Axis, text: string, warnings: CoordinateWarning[]): { deg: number; parts: number } {
  const { letter } = group;
  let [first, ...rest] = group.parts as [string, ...string[]];
  const negative = first.startsWith("-");
  first = first.replace(/^[+-]/, "");
  if (rest.length === 0 && letter !== null && /^\d{4,}/.test(first)) [first, ...rest] = unpack(first, axis, text);
  const numbers = [first, ...rest].map(Number);
  if (rest.some((p) => /^[+-]/.test(p))) throw unreadable("a sign stands inside a coordinate", text, "as in -96 03 12");
  if ([first, ...rest].slice(0, -1).some((p) => p.includes(".")))
    throw unreadable("decimals stand before minutes or seconds", text, "give decimals on the last part only");
  if (numbers.slice(1).some((n) => n >= 60))
    throw unreadable(
      "minutes and seconds must be below 60",
      text,
      "if these are decimals, write 41.75 rather than 41 75",
    );
  const size = numbers.reduce((sum, n, i) => sum + n / 60 ** i, 0);
  if (negative && (letter === "N" || letter === "E"))
    throw unreadable(`a minus and the letter ${letter} contradict each other`, text, "keep one of the two");
  if (negative && letter !== null)
    warnings.push({ code: "coordinate.double-sign", text: `both a minus and ${letter}: read as ${letter}` });
  const south = negative || letter === "S" || letter === "W";
  return { deg: south ? -size : size, parts: numbers.length };
}

/** Packed degrees and minutes, 4114.5N or 0960312W, as charts and receivers print them. */
function unpack(packed: string, axis: Axis, text: string): [string, ...string[]] {
  const whole = packed.split(".")[0]!.length;
  const degreeDigits = { lat: { 4: 2, 6: 2 }, lng: { 4: 2, 5: 3, 6: 2, 7: 3 } }[axis] as Record<number, number>;
  const d = degreeDigits[whole];
  if (d === undefined) throw unreadable(`${packed} is not packed degrees and minutes`, text, "as in 4114.5N 09603.2W");
  return whole - d === 2
    ? [packed.slice(0, d), packed.slice(d)]
    : [packed.slice(0, d), packed.slice(d, d + 2), packed.slice(d + 2)];
}

/** True when the decimals could be minutes and seconds run together: exactly four, both pairs below 60. */
const looksLikeDms = (part: string): boolean => /^[+-]?\d+\.[0-5]\d[0-5]\d$/.test(part);

function range(lat: number, lng: number, text: string, warnings: CoordinateWarning[]): LngLat {
  if (!(Math.abs(lat) <= 90))
    throw unreadable("latitude is beyond 90°", text, "check the order, and whether these are metres of a grid");
  if (!(Math.abs(lng) <= 360)) throw unreadable("longitude is beyond 180°", text, "longitude runs from -180 to 180");
  if (Math.abs(lng) <= 180) return { lng, lat };
  const wrapped = lng > 0 ? lng - 360 : lng + 360;
  warnings.push({ code: "coordinate.longitude-wrapped", text: `longitude ${lng}° read as ${wrapped}°` });
  return { lng: wrapped, lat };
}

const km = (m: number) => `${Math.round(m / 1000)} km`;

/** Says when a place is far from the area and what would bring it near: swapped axes or a lost minus. */
function questionFar(place: LngLat, near: LngLat, warnings: CoordinateWarning[]): void {
  const away = geodesicInverse(place, near).distanceM;
  if (away <= FAR_M) return;
  const tries: [string, string, LngLat][] = [
    ["coordinate.lost-minus", "with the sign of the longitude turned", { lng: -place.lng, lat: place.lat }],
    ["coordinate.lost-minus", "with the sign of the latitude turned", { lng: place.lng, lat: -place.lat }],
    ["coordinate.lost-minus", "with both signs turned", { lng: -place.lng, lat: -place.lat }],
    ["coordinate.axes-swapped", "with latitude and longitude exchanged", { lng: place.lat, lat: place.lng }],
  ];
  for (const [code, words, other] of tries) {
    if (Math.abs(other.lat) > 90) continue;
    const then = geodesicInverse(other, near).distanceM;
    if (then <= FAR_M) {
      warnings.push({ code, text: `${km(away)} from the area; ${words} it is ${km(then)}` });
      return;
    }
  }
  warnings.push({ code: "coordinate.far", text: `${km(away)} from the area` });
}

function readLatLng(text: string, options: ParseOptions): ParsedCoordinate {
  const warnings: CoordinateWarning[] = [];
  const [a, b] = splitGroups(text);
  const axisA: Axis | null = a.axis ?? (b.axis === null ? null : b.axis === "lat" ? "lng" : "lat");
  if (axisA !== null && axisA === b.axis)
    throw unreadable(
      `both coordinates are ${axisA === "lat" ? "latitudes" : "longitudes"}`,
      text,
      "one of each is needed",
    );

  let latFirst = axisA === "lat";
  if (axisA === null) {
    const order = options.order ?? "unknown";
    latFirst = order !== "lng-lat";
    const degA = Number(a.parts[0]);
    const degB = Number(b.parts[0]);
    if (order === "unknown" && Math.abs(degA) > 90 && Math.abs(degB) <= 90) {
      latFirst = false;
      warnings.push({
        code: "coordinate.axes-swapped",
        text: `${degA} is beyond 90, so longitude is taken to stand first`,
      });
    } else if (order === "unknown" && Math.abs(degA) <= 90 && Math.abs(degB) <= 90 && degA !== degB) {
      warnings.push({
        code: "coordinate.axes-ambiguous",
        text: "both orders are possible; latitude is taken to stand first",
      });
    }
  }
  const [latGroup, lngGroup] = latFirst ? [a, b] : [b, a];
  const lat = angle(latGroup, "lat", text, warnings);
  const lng = angle(lngGroup, "lng", text, warnings);
  if (lat.parts === 1 && lng.parts === 1 && looksLikeDms(latGroup.parts[0]!) && looksLikeDms(lngGroup.parts[0]!))
    warnings.push({
      code: "coordinate.dms-as-decimal",
      text: "read as decimal degrees; if the four decimals are minutes and seconds, write 41 14 30",
    });
  const place = range(lat.deg, lng.deg, text, warnings);
  if (place.lat === 0 && place.lng === 0)
    warnings.push({ code: "coordinate.zero", text: "0, 0 is in the Gulf of Guinea; often a missing position" });
  const parts = Math.max(lat.parts, lng.parts);
  return { place, notation: parts === 1 ? "dd" : parts === 2 ? "dm" : "dms", warnings };
}

/**
 * Reads a place in any notation people write: decimal degrees, degrees and minutes, degrees, minutes and seconds, UTM,
 * USNG/MGRS; letters before or after, marks or not, packed or spaced.
 * @param text     at most 200 characters
 * @param options  what is known of the area and of the order of plain pairs
 * @returns the place (degrees), its notation, and a warning for each reading that could have been meant otherwise.
 *          A grid reference stands for a square: its centre is returned
 * Throws geodesy.coordinate-unreadable with what is wrong, geodesy.out-of-range on polar grid references.
 */
export function parseCoordinate(text: string, options: ParseOptions = {}): ParsedCoordinate {
  const trimmed = text.trim();
  if (trimmed === "" || trimmed.length > 200)
    throw unreadable(trimmed === "" ? "it is empty" : "it is longer than a coordinate", text, "one place per text");
  const parsed = readUsng(trimmed, options) ?? readUtm(trimmed, options) ?? readLatLng(normalise(trimmed), options);
  if (options.near !== undefined) questionFar(parsed.place, options.near, parsed.warnings);
  return parsed;
}
