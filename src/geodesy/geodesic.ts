import geographiclib from "geographiclib-geodesic";
import { wrap360 } from "../units/index.ts";
import type { LngLat } from "./types.ts";

const wgs84 = geographiclib.Geodesic.WGS84;

/**
 * Shortest line between two places on the WGS 84 ellipsoid.
 * @param a, b  degrees
 * @returns distance in metres; azimuth at `a` towards `b` and, back, at `b` towards `a`, degrees clockwise from true
 *          north in [0, 360). Coincident places give 0 m. NaN in, NaN out; never throws
 * Accuracy: 15 nm (Karney, "Algorithms for geodesics", J. Geodesy 87 (2013), doi 10.1007/s00190-012-0578-z).
 */
export function geodesicInverse(
  a: LngLat,
  b: LngLat,
): { distanceM: number; azimuthDeg: number; backAzimuthDeg: number } {
  const line = wgs84.Inverse(a.lat, a.lng, b.lat, b.lng);
  return {
    distanceM: line.s12!,
    azimuthDeg: wrap360(line.azi1!),
    backAzimuthDeg: wrap360(line.azi2! + 180),
  };
}

/**
 * The place at a distance along a geodesic.
 * @param a           start, degrees
 * @param azimuthDeg  clockwise from true north
 * @param distanceM   metres along the ellipsoid; negative goes back
 * @returns degrees, longitude in [−180, 180]. NaN in, NaN out. Source and accuracy as geodesicInverse
 */
export function geodesicDirect(a: LngLat, azimuthDeg: number, distanceM: number): LngLat {
  const end = wgs84.Direct(a.lat, a.lng, azimuthDeg, distanceM);
  return { lng: end.lon2!, lat: end.lat2! };
}
