import type { XY } from "../geodesy/types.ts";
import type { Scene, SceneBuilding } from "../terrain/scene.ts";
import { insideBuilding, skyIndex } from "./sky-index.ts";

export interface CableRun {
  /** Length over the ground (and the target's own roof, level), m. */
  lengthM: number;
  line: XY[];
}

/** Room left to a wall one walks round, m. */
const CORNER_M = 0.5;

/**
 * Shortest walkable line between two places round the outlines of buildings: straight where nothing is in the way, else
 * over corners of what is (a visibility graph of nearby corners, exact for straight walls).
 * @param target  index of the building the line may enter (the roof it leads to), or −1
 * @returns null where no way round is found among the nearest buildings
 */
export function cableRun(scene: Scene, from: XY, to: XY, active: readonly boolean[], target: number): CableRun | null {
  const direct = Math.hypot(to.xM - from.xM, to.yM - from.yM);
  const { bounds } = skyIndex(scene);
  const reach = 2 * direct + 30;
  const near = scene.buildings.flatMap((b, n) => {
    const at = bounds[n]!;
    if (n === target || !active[n]) return [];
    if (insideBuilding(b, from.xM, from.yM)) return [];
    return Math.hypot(at.x - from.xM, at.y - from.yM) - at.roundM < reach ? [b] : [];
  });
  if (!near.some((b) => crosses(b, from, to))) return { lengthM: direct, line: [from, to] };
  const nodes: XY[] = [from, to];
  for (const b of near)
    for (const corner of corners(b)) if (!near.some((o) => insideBuilding(o, corner.xM, corner.yM))) nodes.push(corner);
  if (nodes.length > 600) nodes.length = 600;
  // Dijkstra over mutually visible corners.
  const cost = new Float64Array(nodes.length).fill(Number.POSITIVE_INFINITY);
  const before = new Int32Array(nodes.length).fill(-1);
  const done = new Uint8Array(nodes.length);
  cost[0] = 0;
  for (;;) {
    let here = -1;
    for (let n = 0; n < nodes.length; n++)
      if (done[n] === 0 && cost[n]! < Number.POSITIVE_INFINITY && (here < 0 || cost[n]! < cost[here]!)) here = n;
    if (here < 0) return null;
    if (here === 1) break;
    done[here] = 1;
    const a = nodes[here]!;
    for (let n = 1; n < nodes.length; n++) {
      if (done[n] === 1) continue;
      const b = nodes[n]!;
      const through = cost[here]! + Math.hypot(a.xM - b.xM, a.yM - b.yM);
      if (through >= cost[n]! || through > reach * 2 || near.some((o) => crosses(o, a, b))) continue;
      cost[n] = through;
      before[n] = here;
    }
  }
  const line: XY[] = [];
  for (let n = 1; n >= 0; n = before[n]!) line.unshift(nodes[n]!);
  return { lengthM: cost[1]!, line };
}

/** Corners of the outer rings, pushed half a metre outwards along the bisector. */
function corners(building: SceneBuilding): XY[] {
  const out: XY[] = [];
  for (const polygon of building.polygons) {
    const ring = polygon[0]!.slice(0, -1);
    ring.forEach(([x, y], i) => {
      const [xa, ya] = ring[(i - 1 + ring.length) % ring.length]!;
      const [xb, yb] = ring[(i + 1) % ring.length]!;
      const la = Math.hypot(x - xa, y - ya) || 1;
      const lb = Math.hypot(x - xb, y - yb) || 1;
      let [ux, uy] = [(x - xa) / la + (x - xb) / lb, (y - ya) / la + (y - yb) / lb];
      const u = Math.hypot(ux, uy);
      if (u < 1e-3) return; // straight on: no corner
      [ux, uy] = [(ux / u) * CORNER_M, (uy / u) * CORNER_M];
      if (!insideBuilding(building, x + ux, y + uy)) out.push({ xM: x + ux, yM: y + uy });
    });
  }
  return out;
}

function crosses(building: SceneBuilding, a: XY, b: XY): boolean {
  const [dx, dy] = [b.xM - a.xM, b.yM - a.yM];
  for (const polygon of building.polygons)
    for (const ring of polygon)
      for (let i = 1; i < ring.length; i++) {
        const [x1, y1] = ring[i - 1]!;
        const [x2, y2] = ring[i]!;
        const [ex, ey] = [x2 - x1, y2 - y1];
        const det = dx * ey - dy * ex;
        if (Math.abs(det) < 1e-12) continue;
        const t = ((x1 - a.xM) * ey - (y1 - a.yM) * ex) / det;
        const s = ((x1 - a.xM) * dy - (y1 - a.yM) * dx) / det;
        if (t > 0 && t < 1 && s >= 0 && s <= 1) return true;
      }
  return insideBuilding(building, (a.xM + b.xM) / 2, (a.yM + b.yM) / 2);
}
