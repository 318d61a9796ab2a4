import { unreadable } from "./angles.ts";
import { geodesicInverse } from "./geodesic.ts";
import { type MgrsSquare, readMgrs } from "./mgrs.ts";
import type { LngLat, Notation } from "./types.ts";
import { BANDS, bandEdges, bandOf, fromUtm, utmZone } from "./utm.ts";

export interface CoordinateWarning {
  code: string;
  text: string;
}
export interface ParsedCoordinate {
  place: LngLat;
  notation: Notation;
  warnings: CoordinateWarning[];
}
export interface ParseOptions {
  /** A place known to be in the area: fills in a missing grid zone and finds lost minus signs and swapped axes. */
  near?: LngLat;
  /** What a pair of plain numbers means; "unknown" reads latitude first and warns where both orders are possible. */
  order?: "unknown" | "lat-lng" | "lng-lat";
}

/** A square coarser than this is pointed out, metres. */
const COARSE_M = 100;

const UTM_SHAPE =
  /^(\d{1,2})\s*([C-HJ-NP-X]|NORTH|SOUTH)?[\s,]+E?\s*(\d{5,7}(?:\.\d+)?)\s*(?:M?E)?[\s,]+N?\s*(\d{1,8}(?:\.\d+)?)\s*(?:M?N)?$/;

/** Reads UTM; null when the text has not that shape. */
export function readUtm(text: string, options: ParseOptions): ParsedCoordinate | null {
  const upper = text
    .toUpperCase()
    .replace(/\b(?:UTM|ZONE|WGS ?84)\b:?/g, " ")
    .trim();
  const match = UTM_SHAPE.exec(upper);
  if (match === null) return null;
  const zone = Number(match[1]);
  const letter = match[2];
  const eastingM = Number(match[3]);
  const northingM = Number(match[4]);
  if (zone < 1 || zone > 60) throw unreadable("the UTM zone is not 1 to 60", text, "as in 14T 541830 4609710");
  if (eastingM < 100_000 || eastingM >= 1_000_000 || northingM > 10_000_000)
    throw unreadable(
      "easting or northing is outside the UTM grid",
      text,
      "easting 100000 to 999999, northing to 10000000",
    );
  const warnings: CoordinateWarning[] = [];
  let north = letter === undefined ? (options.near?.lat ?? 1) >= 0 : letter !== "SOUTH" && letter >= "N";
  if (letter === undefined)
    warnings.push({
      code: "coordinate.hemisphere-missing",
      text: `no band letter: read as ${north ? "north" : "south"} of the equator`,
    });
  if (letter === "S") {
    const { lat } = fromUtm({ zone, north: true, eastingM, northingM });
    north = lat >= 31 && lat < 41;
    warnings.push({
      code: "coordinate.band-s-ambiguous",
      text: north ? "S read as the band from 32° to 40° N, not as south" : "S read as south of the equator",
    });
  }
  const place = fromUtm({ zone, north, eastingM, northingM });
  if (!(place.lat >= -80.5 && place.lat <= 84.5))
    throw unreadable("it lies outside the UTM grid", text, "give latitude and longitude");
  if (letter?.length === 1 && BANDS.includes(letter) && letter !== "S" && letter !== "N") {
    const [south, northEdge] = bandEdges(letter);
    if (place.lat < south - 0.01 || place.lat > northEdge + 0.01)
      warnings.push({
        code: "coordinate.band-disagrees",
        text: `the northing lies in band ${bandOf(Math.max(-80, Math.min(84, place.lat)))}, not ${letter}`,
      });
  }
  return { place, notation: "utm", warnings };
}

const ZONELESS = /^([A-HJ-NP-Z])\s*([A-HJ-NP-V])\s*(\d+)\s*(\d*)$/;

/** Reads USNG or MGRS, with or without its grid zone; null when the text has not that shape. */
export function readUsng(text: string, options: ParseOptions): ParsedCoordinate | null {
  const upper = text
    .toUpperCase()
    .replace(/\b(?:USNG|MGRS)\b:?/g, " ")
    .trim();
  const warnings: CoordinateWarning[] = [];
  let square = readMgrs(upper);
  const short = ZONELESS.exec(upper);
  if (square === null && short !== null && (short[3]! + short[4]!).length % 2 === 0) {
    square = nearestZone(upper, options.near);
    if (square === null)
      throw unreadable("the grid zone is missing", text, "put it in front, as in 14T NM 41830 09710");
    warnings.push({ code: "coordinate.grid-zone-missing", text: "no grid zone: the nearest one to the area is taken" });
  }
  if (square === null) return null;
  if (square.sizeM >= COARSE_M)
    warnings.push({
      code: "coordinate.coarse",
      text: `names a square of ${square.sizeM} m; its centre is taken`,
    });
  return { place: square.centre, notation: "usng", warnings };
}

/** The square of a reference without grid zone that lies nearest to the area. */
function nearestZone(text: string, near: LngLat | undefined): MgrsSquare | null {
  if (near === undefined || near.lat > 84 || near.lat < -80) return null;
  const home = utmZone(near);
  const homeBand = BANDS.indexOf(bandOf(near.lat));
  let best: { square: MgrsSquare; away: number } | null = null;
  for (let dz = -1; dz <= 1; dz++)
    for (let dBand = -1; dBand <= 1; dBand++) {
      const band = BANDS[homeBand + dBand];
      if (band === undefined) continue;
      try {
        const square = readMgrs(`${((home - 1 + dz + 60) % 60) + 1}${band} ${text}`);
        if (square === null) continue;
        const away = geodesicInverse(square.centre, near).distanceM;
        if (best === null || away < best.away) best = { square, away };
      } catch {
        // This zone and band have no such square.
      }
    }
  return best?.square ?? null;
}
