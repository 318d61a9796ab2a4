import type { XY } from "../geodesy/types.ts";

/** Plane geometry in a plan's local frame (metres). Rings are closed lists of [x, y]. */
export type Ring = readonly (readonly [number, number])[];
export type Polygon = readonly Ring[];

/** Distance from a place to a segment, m. */
export function distanceToSegmentM(p: XY, a: readonly [number, number], b: readonly [number, number]): number {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const length2 = dx * dx + dy * dy;
  const t = length2 === 0 ? 0 : Math.min(1, Math.max(0, ((p.xM - a[0]) * dx + (p.yM - a[1]) * dy) / length2));
  return Math.hypot(p.xM - a[0] - t * dx, p.yM - a[1] - t * dy);
}

/** Even-odd test over all rings of one polygon (holes included). */
export function insidePolygon(p: XY, polygon: Polygon): boolean {
  let inside = false;
  for (const ring of polygon) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [xi, yi] = ring[i]!;
      const [xj, yj] = ring[j]!;
      if (yi > p.yM !== yj > p.yM && p.xM < ((xj - xi) * (p.yM - yi)) / (yj - yi) + xi) inside = !inside;
    }
  }
  return inside;
}

export const insideAny = (p: XY, polygons: readonly Polygon[]): boolean => polygons.some((g) => insidePolygon(p, g));

/** Area of a polygon with holes, m². */
export function polygonAreaM2(polygon: Polygon): number {
  const ringArea = (ring: Ring): number => {
    let sum = 0;
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++)
      sum += ring[j]![0] * ring[i]![1] - ring[i]![0] * ring[j]![1];
    return Math.abs(sum) / 2;
  };
  return polygon.reduce((area, ring, i) => area + (i === 0 ? ringArea(ring) : -ringArea(ring)), 0);
}

/** A rectangle turned by a heading, centred on a place: the footprint of a parked unit. */
export interface TurnedRect {
  xM: number;
  yM: number;
  /** Half length along the heading and half width across it, m. */
  halfLengthM: number;
  halfWidthM: number;
  /** Unit vector along the heading (east, north). */
  ux: number;
  uy: number;
}

/** A footprint with its long side along the heading (degrees clockwise from grid north). */
export function turnedRect(place: XY, lengthM: number, widthM: number, headingDeg: number): TurnedRect {
  const a = (headingDeg * Math.PI) / 180;
  return {
    xM: place.xM,
    yM: place.yM,
    halfLengthM: lengthM / 2,
    halfWidthM: widthM / 2,
    ux: Math.sin(a),
    uy: Math.cos(a),
  };
}

/** True when a segment has any point inside or on a turned rectangle (clip in the rectangle's own axes). */
export function segmentMeetsRect(a: readonly [number, number], b: readonly [number, number], r: TurnedRect): boolean {
  const ax = a[0] - r.xM;
  const ay = a[1] - r.yM;
  const bx = b[0] - r.xM;
  const by = b[1] - r.yM;
  const u0 = ax * r.ux + ay * r.uy;
  const v0 = ax * r.uy - ay * r.ux;
  const du = bx * r.ux + by * r.uy - u0;
  const dv = bx * r.uy - by * r.ux - v0;
  let low = 0;
  let high = 1;
  for (const [p, q] of [
    [-du, u0 + r.halfLengthM],
    [du, r.halfLengthM - u0],
    [-dv, v0 + r.halfWidthM],
    [dv, r.halfWidthM - v0],
  ] as const) {
    if (p === 0) {
      if (q < 0) return false;
    } else {
      const t = q / p;
      if (p < 0) low = Math.max(low, t);
      else high = Math.min(high, t);
      if (low > high) return false;
    }
  }
  return true;
}

export function rectCorners(r: TurnedRect): [number, number][] {
  const { ux, uy, halfLengthM: l, halfWidthM: w } = r;
  return [
    [r.xM + ux * l + uy * w, r.yM + uy * l - ux * w],
    [r.xM - ux * l + uy * w, r.yM - uy * l - ux * w],
    [r.xM - ux * l - uy * w, r.yM - uy * l + ux * w],
    [r.xM + ux * l - uy * w, r.yM + uy * l + ux * w],
  ];
}

/** Distance from a turned rectangle's edge to a segment, m; 0 when they meet. */
export function rectToSegmentM(r: TurnedRect, a: readonly [number, number], b: readonly [number, number]): number {
  if (segmentMeetsRect(a, b, r)) return 0;
  const corners = rectCorners(r);
  let best = Number.POSITIVE_INFINITY;
  for (let i = 0; i < 4; i++) {
    const c = corners[i]!;
    const d = corners[(i + 1) % 4]!;
    best = Math.min(
      best,
      distanceToSegmentM({ xM: c[0], yM: c[1] }, a, b),
      distanceToSegmentM({ xM: a[0], yM: a[1] }, c, d),
      distanceToSegmentM({ xM: b[0], yM: b[1] }, c, d),
    );
  }
  return best;
}

/** True when any part of the rectangle lies in the polygon. */
export function rectMeetsPolygon(r: TurnedRect, polygon: Polygon): boolean {
  for (const ring of polygon)
    for (let i = 1; i < ring.length; i++) if (segmentMeetsRect(ring[i - 1]!, ring[i]!, r)) return true;
  return insidePolygon({ xM: r.xM, yM: r.yM }, polygon);
}

/** True when the whole rectangle lies in the polygon. */
export function rectInsidePolygon(r: TurnedRect, polygon: Polygon): boolean {
  for (const ring of polygon)
    for (let i = 1; i < ring.length; i++) if (segmentMeetsRect(ring[i - 1]!, ring[i]!, r)) return false;
  return insidePolygon({ xM: r.xM, yM: r.yM }, polygon);
}
