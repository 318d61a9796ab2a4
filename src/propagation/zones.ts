/** Kinds of ground as the Recommendations number them. */
export const ZONE = { sea: 1, coastal: 3, inland: 4 } as const;

export interface ZoneLengths {
  /** Share of the path over sea. */
  omega: number;
  /** Longest continuous land section (inland or coastal), km. */
  dtm: number;
  /** Longest continuous inland section, km. */
  dlm: number;
}

/**
 * Zone lengths of a path; a point stands for half of the step on each side of it.
 * @param d     distances, km, first 0
 * @param zones kind of each point; null = inland all along
 * @param n     count of points
 * Source: Rec. ITU-R P.1812-6 §3.2, table 3 (P.452-17 §3.2.1).
 */
export function zoneLengths(d: Float64Array, zones: Uint8Array | null, n: number): ZoneLengths {
  const D = d[n - 1]!;
  if (zones === null) return { omega: 0, dtm: D, dlm: D };
  let sea = 0;
  let dtm = 0;
  let dlm = 0;
  let land = 0;
  let inland = 0;
  for (let i = 0; i < n; i++) {
    const length = ((i < n - 1 ? d[i + 1]! : D) - (i > 0 ? d[i - 1]! : 0)) / 2;
    const zone = zones[i]!;
    if (zone === ZONE.sea) {
      sea += length;
      land = 0;
    } else land += length;
    inland = zone === ZONE.inland ? inland + length : 0;
    if (land > dtm) dtm = land;
    if (inland > dlm) dlm = inland;
  }
  return { omega: sea / D, dtm, dlm };
}

/**
 * Latitude of a path's middle, by great circle on a sphere of 6371 km.
 * @param from, to [longitude, latitude], degrees
 * @param distanceKm length of the profile (its half is walked), km
 * @returns degrees
 * Source: Rec. ITU-R P.1812-6 Attachment 1 (great-circle path).
 */
export function middleLatitudeDeg(
  from: readonly [number, number],
  to: readonly [number, number],
  distanceKm: number,
): number {
  const rad = Math.PI / 180;
  const lat1 = from[1] * rad;
  const lat2 = to[1] * rad;
  const dl = (to[0] - from[0]) * rad;
  const r = Math.sin(lat1) * Math.sin(lat2) + Math.cos(lat1) * Math.cos(lat2) * Math.cos(dl);
  const bearing = Math.atan2(Math.cos(lat1) * Math.cos(lat2) * Math.sin(dl), Math.sin(lat2) - r * Math.sin(lat1));
  const half = distanceKm / 2 / 6371;
  const s = Math.sin(lat1) * Math.cos(half) + Math.cos(lat1) * Math.sin(half) * Math.cos(bearing);
  return Math.asin(Math.min(1, Math.max(-1, s))) / rad;
}
