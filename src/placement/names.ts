import { centerOfMass, multiPolygon } from "@turf/turf";
import type { XY } from "../geodesy/types.ts";
import { DEG } from "../units/index.ts";
import { type Polygon, polygonAreaM2 } from "./plane.ts";
import type { Scenario } from "./scenario.ts";

const OCTANTS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];

/** Middle of a parking area and how far it reaches from there, in the plane of the local frame. */
function centre(polygons: readonly Polygon[]): { xM: number; yM: number; reachM: number } {
  const rings = polygons.map((p) => p.map((ring) => ring.map(([x, y]) => [x, y])));
  const [xM, yM] = centerOfMass(multiPolygon(rings)).geometry.coordinates as [number, number];
  const area = polygons.reduce((sum, p) => sum + polygonAreaM2(p), 0);
  return { xM, yM, reachM: Math.sqrt(area) / 2 };
}

/** Names spots by their parking area and the side of it they stand on; repeated names get a number. */
export function nameSpots(s: Scenario, spots: readonly { at: XY; parking: string }[]): string[] {
  const used = new Map<string, number>();
  return spots.map(({ at, parking }) => {
    const named = s.namedSpots.find((n) => Math.hypot(n.at.xM - at.xM, n.at.yM - at.yM) < 0.5);
    const area = s.parking.find((a) => a.name === parking);
    let name = named?.name ?? (parking || "Spot");
    if (!named && area) {
      const c = centre(area.polygons);
      const away = Math.hypot(at.xM - c.xM, at.yM - c.yM);
      const octant = OCTANTS[Math.round(((Math.atan2(at.xM - c.xM, at.yM - c.yM) / DEG + 360) % 360) / 45) % 8]!;
      name = `${name}, ${away < c.reachM * 0.25 ? "middle" : octant}`;
    }
    const count = (used.get(name) ?? 0) + 1;
    used.set(name, count);
    return count === 1 ? name : `${name} ${count}`;
  });
}
