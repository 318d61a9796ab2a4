import { expect, test } from "vitest";
import { dishSettings, lookAngles, viewFromSpot } from "../../src/satellite/index.ts";
import { delftScene } from "../support/rasters.ts";
import { hasShared, needs } from "../support/tools.ts";

/**
 * Blocking by Delft's 160 footprints (BGT outlines with AHN3 heights) against a ray test of its own: every wall is two
 * triangles, every roof is where the ray passes the roof's height; solved in three dimensions, without the tube's frame.
 */
function rayBlocked(
  eye: [number, number, number],
  dir: [number, number, number],
  rings: [number, number][][],
  top: number,
): boolean {
  const wall = (p: [number, number], q: [number, number]) => {
    // Möller–Trumbore on (p bottom, q bottom, q top) and (p bottom, q top, p top).
    const low = -1000;
    const tri = (a: number[], b: number[], c: number[]) => {
      const sub = (u: number[], v: number[]) => [u[0]! - v[0]!, u[1]! - v[1]!, u[2]! - v[2]!];
      const cross = (u: number[], v: number[]) => [
        u[1]! * v[2]! - u[2]! * v[1]!,
        u[2]! * v[0]! - u[0]! * v[2]!,
        u[0]! * v[1]! - u[1]! * v[0]!,
      ];
      const dot = (u: number[], v: number[]) => u[0]! * v[0]! + u[1]! * v[1]! + u[2]! * v[2]!;
      const [e1, e2] = [sub(b, a), sub(c, a)];
      const h = cross(dir, e2);
      const det = dot(e1, h);
      if (Math.abs(det) < 1e-12) return false;
      const s = sub(eye, a);
      const u = dot(s, h) / det;
      const k = cross(s, e1);
      const v = dot(dir, k) / det;
      return u >= 0 && v >= 0 && u + v <= 1 && dot(e2, k) / det > 0;
    };
    const [pb, qb, qt, pt] = [
      [...p, low],
      [...q, low],
      [...q, top],
      [...p, top],
    ];
    return tri(pb, qb, qt) || tri(pb, qt, pt);
  };
  return rings.some((ring) => ring.slice(1).some((q, i) => wall(ring[i]!, q)));
}

test("rays past Delft's outlines are blocked exactly where an independent ray test says so", () => {
  if (!hasShared() || !needs("gdalinfo")) return;
  const scene = delftScene(1, true);
  const dish = dishSettings({ diameterM: 0.9, eyeHeightM: 1.6 });
  const when = { date: "2026-09-12", declinationDeg: 0, model: "test" };
  expect(scene.buildings.length).toBe(160);
  let seed = 3;
  const random = () => {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    return seed / 4294967296;
  };
  let [checked, blocked] = [0, 0];
  const wrong: string[] = [];
  while (checked < 1200) {
    const [x, y] = [-118 + 236 * random(), -103 + 206 * random()];
    const satellite = -30 + 80 * random();
    const place = scene.frame.toLngLat({ xM: x, yM: y });
    let view: ReturnType<typeof viewFromSpot>[number];
    try {
      view = viewFromSpot(scene, { place }, dish, [{ id: "s", longitudeDeg: satellite }], when)[0]!;
    } catch {
      continue; // inside an outline
    }
    checked++;
    // The eye's height over ground is the scene's own; the direction is rebuilt here.
    const look = lookAngles({ ...place, heightM: 0 }, satellite, 0);
    const az = ((look.azimuthDeg - scene.frame.convergenceDeg(place)) * Math.PI) / 180;
    const el = (look.elevationDeg * Math.PI) / 180;
    const dir: [number, number, number] = [Math.cos(el) * Math.sin(az), Math.cos(el) * Math.cos(az), Math.sin(el)];
    const col = (x - scene.grid.westM) / scene.grid.cellM - 0.5;
    const row = (scene.grid.northM - y) / scene.grid.cellM - 0.5;
    const at = (c: number, r: number) =>
      scene.groundM[Math.min(209, Math.max(0, r)) * scene.grid.cols + Math.min(239, Math.max(0, c))]!;
    const [c0, r0] = [Math.floor(col), Math.floor(row)];
    const [fc, fr] = [col - c0, row - r0];
    const ground =
      (at(c0, r0) * (1 - fc) + at(c0 + 1, r0) * fc) * (1 - fr) +
      (at(c0, r0 + 1) * (1 - fc) + at(c0 + 1, r0 + 1) * fc) * fr;
    const hit = scene.buildings.filter((b) =>
      b.polygons.some((rings) => rayBlocked([x, y, ground + 1.6], dir, rings, b.topAmslM)),
    );
    if (hit.length > 0) blocked++;
    // Ground is flat here: a blocked ray is a building's doing. Negative but unblocked values belong to the dish's width.
    const says =
      view.blockedBy !== null &&
      (view.clearanceDeg ?? 1) < 0 &&
      view.blockedBy.intrusionM > 0.45 + view.blockedBy.distanceM * 0.05;
    const found = view.clearanceDeg !== null && view.clearanceDeg < 0 && hit.some((b) => b.id === view.blockedBy?.id);
    if (hit.length > 0 && !found)
      wrong.push(
        `missed ${hit[0]!.id} from ${x.toFixed(2)},${y.toFixed(2)} to ${satellite.toFixed(2)}: ${view.clearanceDeg}`,
      );
    if (hit.length === 0 && says && Math.abs(view.blockedBy!.azimuthDeg - look.azimuthDeg) < 1e-9)
      wrong.push(`made up ${view.blockedBy!.id} from ${x.toFixed(2)},${y.toFixed(2)} to ${satellite.toFixed(2)}`);
    if (hit.length > 0 && found) {
      // Minus the elevation needed: the ray raised by it, and a hair, is free; a hair less is not.
      const raised = (by: number): [number, number, number] => {
        const e = el - (view.clearanceDeg! * Math.PI) / 180 + by;
        return [Math.cos(e) * Math.sin(az), Math.cos(e) * Math.cos(az), Math.sin(e)];
      };
      const any = (d: [number, number, number]) =>
        scene.buildings.some((b) => b.polygons.some((rings) => rayBlocked([x, y, ground + 1.6], d, rings, b.topAmslM)));
      if (view.clearanceDeg! > el - 80 && (any(raised(2e-4)) || !any(raised(-2e-4))))
        wrong.push(`needed elevation off from ${x.toFixed(2)},${y.toFixed(2)} to ${satellite.toFixed(2)}`);
    }
  }
  expect(blocked).toBeGreaterThan(150);
  expect(wrong).toEqual([]);
});
