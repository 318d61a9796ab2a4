import type { Obstruction } from "../../plan/outputs/types.ts";
import type { Scene } from "../../terrain/scene.ts";
import { lineAtM } from "./clearance.ts";
import type { PathProfile } from "./sample.ts";

/** Vegetation lower than this does not make a sample a tree. */
const TREE_MIN_M = 0.5;
/** A surface this much above ground is something that stands there. */
const STANDS_MIN_M = 1;

/** Names what stands at one sample of a path: a building by its id, trees, something on the surface, or the ground itself. */
export function describeObstruction(scene: Scene, p: PathProfile, sample: number, k: number): Obstruction | null {
  if (sample < 0) return null;
  const heightAmslM = p.solidM[sample]!;
  const base = { distanceM: sample * p.stepM, heightAmslM, aboveLineM: heightAmslM - lineAtM(p, sample, k) };
  const aboveGround = heightAmslM - p.groundM[sample]!;
  const building = nearbyBuilding(p, sample);
  if (building >= 0 && aboveGround > STANDS_MIN_M) {
    const b = scene.buildings[building]!;
    return { ...base, kind: "building", id: b.id, name: heightTold(b) };
  }
  if (p.canopyTopM[sample]! - p.groundM[sample]! > TREE_MIN_M && p.solidM[sample]! > p.bareM[sample]! + TREE_MIN_M)
    return { ...base, kind: "tree", id: null, name: "trees" };
  if (aboveGround > STANDS_MIN_M)
    return { ...base, kind: "surface", id: null, name: "something standing on the ground (surface data)" };
  return { ...base, kind: "terrain", id: null, name: "the ground" };
}

/** A building by name; a height nobody measured says so wherever it decides something. */
function heightTold(b: Scene["buildings"][number]): string {
  const name = b.name || b.id;
  return b.heightSource === "assumed"
    ? `${name} (height assumed)`
    : b.heightSource === "floors"
      ? `${name} (height from floors)`
      : name;
}

/** Bilinear heights reach half a cell past a wall, so the neighbours are asked too. */
function nearbyBuilding(p: PathProfile, sample: number): number {
  for (const i of [sample, sample - 1, sample + 1])
    if (i > 0 && i < p.n - 1 && p.building[i]! >= 0) return p.building[i]!;
  return -1;
}
