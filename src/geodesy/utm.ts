import proj4 from "proj4";
import { HardstandError } from "../errors/index.ts";
import { wrap180 } from "../units/index.ts";
import { requirePlace } from "./place.ts";
import type { LngLat } from "./types.ts";

export interface Utm {
  zone: number;
  /** Latitude band letter, C–X without I and O. */
  band: string;
  north: boolean;
  eastingM: number;
  northingM: number;
}

export const BANDS = "CDEFGHJKLMNPQRSTUVWX";
export const UTM_SOUTH_DEG = -80;
export const UTM_NORTH_DEG = 84;

/** Latitude band of a latitude from −80 to 84 (X is 12° high). */
export const bandOf = (latDeg: number): string => BANDS[Math.min(19, Math.floor((latDeg + 80) / 8))]!;

/** Southern and northern edge of a band, degrees. */
export function bandEdges(band: string): [number, number] {
  const i = BANDS.indexOf(band);
  return [8 * i - 80, band === "X" ? 84 : 8 * i - 72];
}

/**
 * UTM zone of a place, with the exceptions of south-west Norway (32V) and Svalbard (31X, 33X, 35X, 37X).
 * 180° is zone 1, as −180° is. Source: NGA.SIG.0012 (Universal Grids) §7, Defense Mapping Agency TM 8358.1 §2.
 */
export function utmZone(place: LngLat): number {
  const lng = wrap180(place.lng);
  if (place.lat >= 56 && place.lat < 64 && lng >= 3 && lng < 12) return 32;
  if (place.lat >= 72 && lng >= 0 && lng < 42) return lng < 9 ? 31 : lng < 21 ? 33 : lng < 33 ? 35 : 37;
  return Math.floor((lng + 180) / 6) + 1;
}

const make = (zone: number, north: boolean) =>
  proj4(`+proj=utm +zone=${zone}${north ? "" : " +south"} +datum=WGS84 +units=m +no_defs`);
const projections = new Map<string, ReturnType<typeof make>>();

function projection(zone: number, north: boolean) {
  const key = `${zone}${north ? "N" : "S"}`;
  let found = projections.get(key);
  if (found === undefined) {
    found = make(zone, north);
    projections.set(key, found);
  }
  return found;
}

/**
 * UTM coordinates of a place.
 * @returns easting and northing in metres, not rounded. Throws geodesy.out-of-range beyond 84° N and 80° S,
 *          where the polar grid (UPS) takes over, which is not offered
 * Source: PROJ `utm`; agrees with published conversions to 1 µm.
 */
export function toUtm(place: LngLat): Utm {
  requirePlace(place, "place");
  if (place.lat > UTM_NORTH_DEG || place.lat < UTM_SOUTH_DEG) throw polar(`latitude ${place.lat}`);
  // A hair south of the equator would round to northing 10,000,000, which no square of the south holds.
  const lat = Math.abs(place.lat) < 1e-10 ? 0 : place.lat;
  const zone = utmZone(place);
  const north = lat >= 0;
  const [eastingM, northingM] = projection(zone, north).forward([place.lng, lat]);
  return { zone, band: bandOf(lat), north, eastingM: eastingM!, northingM: northingM! };
}

/** Place of UTM coordinates; the hemisphere counts, the band does not. Longitude in [−180, 180]. */
export function fromUtm(utm: Pick<Utm, "zone" | "north" | "eastingM" | "northingM">): LngLat {
  const [lng, lat] = projection(utm.zone, utm.north).inverse([utm.eastingM, utm.northingM]);
  return { lng: lng!, lat: lat! };
}

export const polar = (received: string): HardstandError =>
  new HardstandError("geodesy.out-of-range", "the polar grid (UPS) beyond 84° N and 80° S is not read or written", {
    received,
    hint: "give latitude and longitude instead",
  });
