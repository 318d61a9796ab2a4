import { fromUtm } from "../src/geodesy/index.ts";
import type { PointCollection } from "../src/plan/types.ts";
import type { Spot } from "./draw.ts";

/** Where the south-west corner of a sample's rasters lies. */
export interface Corner {
  zone: number;
  eastingM: number;
  northingM: number;
}

export const feature = <G, P>(geometry: G, properties: P) => ({ type: "Feature" as const, geometry, properties });
export const collection = <F>(features: F[]) => ({ type: "FeatureCollection" as const, features });

/** Geometry of a sample: spots are metres east and north of its corner, GeoJSON is longitude and latitude to a centimetre. */
export function placer(corner: Corner) {
  const lngLat = ([x, y]: Spot): [number, number] => {
    const place = fromUtm({
      zone: corner.zone,
      north: true,
      eastingM: corner.eastingM + x,
      northingM: corner.northingM + y,
    });
    const round = (v: number): number => Math.round(v * 1e7) / 1e7;
    return [round(place.lng), round(place.lat)];
  };
  return {
    lngLat,
    point: (spot: Spot) => ({ type: "Point" as const, coordinates: lngLat(spot) }),
    line: (spots: readonly Spot[]) => ({ type: "LineString" as const, coordinates: spots.map(lngLat) }),
    area: (spots: readonly Spot[]) => ({ type: "Polygon" as const, coordinates: [[...spots, spots[0]!].map(lngLat)] }),
  };
}

type Point = PointCollection["features"][number];

/** A point, route or area to serve; its id is its code in small letters. */
export const serve = (
  code: string,
  name: string,
  rung: Point["properties"]["rung"],
  geometry: Point["geometry"],
  more: Omit<Point["properties"], "id" | "code" | "name" | "rung">,
): Point => feature(geometry, { id: code.toLowerCase(), code, name, rung, ...more });

/** Corners of a rectangle about a middle, turned anticlockwise. */
export function box(x: number, y: number, long: number, wide: number, turnDeg = 0): Spot[] {
  const a = (turnDeg * Math.PI) / 180;
  const corners = [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ] as const;
  return corners.map(([i, j]): Spot => {
    const [u, v] = [(i * long) / 2, (j * wide) / 2];
    return [x + u * Math.cos(a) - v * Math.sin(a), y + u * Math.sin(a) + v * Math.cos(a)];
  });
}

/** A band of ground along a line. */
export function band(spots: readonly Spot[], halfM: number): Spot[] {
  const side = (sign: number): Spot[] =>
    spots.map(([x, y], i): Spot => {
      const [a, b] = [spots[Math.max(0, i - 1)]!, spots[Math.min(spots.length - 1, i + 1)]!];
      const l = Math.hypot(b[0] - a[0], b[1] - a[1]);
      return [x - (sign * halfM * (b[1] - a[1])) / l, y + (sign * halfM * (b[0] - a[0])) / l];
    });
  return [...side(1), ...side(-1).reverse()];
}
