import type { Geometry, Position } from "geojson";

/** Every position of a geometry, in order. */
export function positions(geometry: Geometry): Position[] {
  switch (geometry.type) {
    case "Point":
      return [geometry.coordinates];
    case "LineString":
    case "MultiPoint":
      return geometry.coordinates;
    case "Polygon":
    case "MultiLineString":
      return geometry.coordinates.flat();
    case "MultiPolygon":
      return geometry.coordinates.flat(2);
    case "GeometryCollection":
      return geometry.geometries.flatMap(positions);
  }
}
/** Where a symbol for a geometry stands: a point itself, the middle of a line, the area-weighted middle of a polygon. */
export function middle(geometry: Geometry): Position {
  if (geometry.type === "Point") return geometry.coordinates;
  if (geometry.type === "LineString") return geometry.coordinates[Math.floor(geometry.coordinates.length / 2)]!;
  const ring = geometry.type === "Polygon" ? geometry.coordinates[0]! : positions(geometry);
  const o = ring[0]!;
  let a = 0;
  let x = 0;
  let y = 0;
  for (let i = 1; i < ring.length; i++) {
    const [x0, y0] = [ring[i - 1]![0]! - o[0]!, ring[i - 1]![1]! - o[1]!];
    const [x1, y1] = [ring[i]![0]! - o[0]!, ring[i]![1]! - o[1]!];
    const cross = x0 * y1 - x1 * y0;
    a += cross;
    x += (x0 + x1) * cross;
    y += (y0 + y1) * cross;
  }
  if (Math.abs(a) < 1e-18) return o;
  return [o[0]! + x / (3 * a), o[1]! + y / (3 * a)];
}
