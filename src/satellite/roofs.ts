import type { LookRow } from "../plan/outputs/types.ts";
import type { Scene, SceneBuilding } from "../terrain/scene.ts";
import { cableRun } from "./cable-run.ts";
import type { DishSettings } from "./dish.ts";
import { insideBuilding, skyIndex } from "./sky-index.ts";
import type { Axis } from "./tube.ts";
import { axisOf, isClear, type Standing } from "./view.ts";

/** A place on a roof from which the tube is free. */
export interface RoofPlace {
  index: number;
  xM: number;
  yM: number;
  /** Roof above the ground at its foot, m. */
  roofHeightM: number;
  /** Cable from the unit: over ground round buildings, up the wall, over the roof, m. */
  cableM: number;
}

const SPACING_M = 2;

/** Least distance from a point to any wall of a building, m. */
export function edgeDistanceM(building: SceneBuilding, x: number, y: number): number {
  let best = Number.POSITIVE_INFINITY;
  for (const polygon of building.polygons)
    for (const ring of polygon)
      for (let i = 1; i < ring.length; i++) {
        const [x1, y1] = ring[i - 1]!;
        const [x2, y2] = ring[i]!;
        const [dx, dy] = [x2 - x1, y2 - y1];
        const len2 = dx * dx + dy * dy;
        const t = len2 === 0 ? 0 : Math.min(1, Math.max(0, ((x - x1) * dx + (y - y1) * dy) / len2));
        best = Math.min(best, Math.hypot(x - x1 - t * dx, y - y1 - t * dy));
      }
  return best;
}

/**
 * Roofs within cable reach that open the satellite: the nearest clear place of each, at least the setback from its edge,
 * nearest cable first. Temporary obstacles carry no dish, and neither do buildings whose height is assumed.
 */
export function roofPlaces(
  scene: Scene,
  standing: Standing,
  dish: DishSettings,
  look: LookRow,
  axis: Axis,
  k: number,
): RoofPlace[] {
  const out: RoofPlace[] = [];
  const { bounds } = skyIndex(scene);
  scene.buildings.forEach((building, index) => {
    const at = bounds[index]!;
    const away = Math.hypot(at.x - standing.eye.xM, at.y - standing.eye.yM) - at.roundM;
    if (building.temporary || building.heightSource === "assumed" || away + building.heightM > dish.cableM) return;
    const roofHeightM = building.topAmslM - building.baseAmslM;
    const places: { xM: number; yM: number; d: number }[] = [];
    for (let x = at.x - at.roundM; x <= at.x + at.roundM; x += SPACING_M)
      for (let y = at.y - at.roundM; y <= at.y + at.roundM; y += SPACING_M) {
        if (!insideBuilding(building, x, y) || edgeDistanceM(building, x, y) < dish.roofSetbackM) continue;
        const d = Math.hypot(x - standing.eye.xM, y - standing.eye.yM);
        if (d + roofHeightM <= dish.cableM) places.push({ xM: x, yM: y, d });
      }
    places.sort((a, b) => a.d - b.d || a.xM - b.xM || a.yM - b.yM);
    for (const p of places.slice(0, 60)) {
      const up: Standing = {
        ...standing,
        onBuilding: building.id,
        treeHereM: 0,
        eyeHeightM: dish.eyeHeightM,
        eye: {
          xM: p.xM,
          yM: p.yM,
          amslM: building.topAmslM + dish.eyeHeightM,
          ownBuilding: index,
          parapetM: dish.parapetM,
        },
      };
      const here = { ...axisOf(scene, scene.frame.toLngLat(p), look, dish, k), elevationDeg: axis.elevationDeg };
      if (isClear(scene, up, here, dish) !== true) continue;
      const run = cableRun(scene, { xM: standing.eye.xM, yM: standing.eye.yM }, p, standing.active, index);
      if (run === null || run.lengthM + roofHeightM + dish.parapetM > dish.cableM) continue;
      out.push({ index, xM: p.xM, yM: p.yM, roofHeightM, cableM: run.lengthM + roofHeightM + dish.parapetM });
      break;
    }
  });
  return out.sort((a, b) => a.cableM - b.cableM);
}
