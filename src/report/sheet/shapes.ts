import type { LocalFrame, XY } from "../../geodesy/types.ts";

type Position = readonly number[];
interface Geometry {
  type: string;
  coordinates: unknown;
}

/** A feature's lines and areas in the plan's frame, metres. */
export interface Shape {
  points: XY[];
  lines: XY[][];
  polygons: XY[][][];
}

/** GeoJSON geometry into the plan's frame. */
export function shapeOf(frame: LocalFrame, geometry: Geometry): Shape {
  const xy = (p: Position): XY => frame.toXY({ lng: p[0]!, lat: p[1]! });
  const ring = (r: Position[]): XY[] => r.map(xy);
  const none: Shape = { points: [], lines: [], polygons: [] };
  switch (geometry.type) {
    case "Point":
      return { ...none, points: [xy(geometry.coordinates as Position)] };
    case "LineString":
      return { ...none, lines: [ring(geometry.coordinates as Position[])] };
    case "Polygon":
      return { ...none, polygons: [(geometry.coordinates as Position[][]).map(ring)] };
    case "MultiPolygon":
      return { ...none, polygons: (geometry.coordinates as Position[][][]).map((p) => p.map(ring)) };
    default:
      return none;
  }
}

/** Everything a shape is made of, for extents. */
export const allOf = (s: Shape): XY[] => [...s.points, ...s.lines.flat(), ...s.polygons.flat(2)];

/** Where a shape's sign is put: the point itself, the middle of a line, the middle of an area's box. */
export function anchorOf(s: Shape): XY | null {
  if (s.points[0]) return s.points[0];
  const line = s.lines[0];
  if (line) return line[Math.floor(line.length / 2)]!;
  const outer = s.polygons.flatMap((p) => p[0] ?? []);
  if (outer.length === 0) return null;
  const xs = outer.map((p) => p.xM);
  const ys = outer.map((p) => p.yM);
  return { xM: (Math.min(...xs) + Math.max(...xs)) / 2, yM: (Math.min(...ys) + Math.max(...ys)) / 2 };
}

/** Nearest place of a shape's edges to a place, and how far it is, m. */
export function nearestOn(s: Shape, from: XY): { at: XY; distanceM: number } | null {
  let best: { at: XY; distanceM: number } | null = null;
  const take = (at: XY) => {
    const distanceM = Math.hypot(at.xM - from.xM, at.yM - from.yM);
    if (best === null || distanceM < best.distanceM) best = { at, distanceM };
  };
  for (const p of s.points) take(p);
  for (const l of [...s.lines, ...s.polygons.flat()])
    for (let i = 0; i + 1 < l.length; i++) {
      const a = l[i]!;
      const b = l[i + 1]!;
      const dx = b.xM - a.xM;
      const dy = b.yM - a.yM;
      const d2 = dx * dx + dy * dy;
      const t = d2 === 0 ? 0 : Math.min(1, Math.max(0, ((from.xM - a.xM) * dx + (from.yM - a.yM) * dy) / d2));
      take({ xM: a.xM + t * dx, yM: a.yM + t * dy });
    }
  return best;
}
