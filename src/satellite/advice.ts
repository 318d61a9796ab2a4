import type { LngLat } from "../geodesy/types.ts";
import type { Advice } from "../plan/outputs/types.ts";
import { cellOf, type Scene, sampleBilinear } from "../terrain/scene.ts";
import { toDegrees, wrap360 } from "../units/index.ts";
import type { DishSettings } from "./dish.ts";
import { roofPlaces } from "./roofs.ts";
import { buildingUnder } from "./tube.ts";
import { axisOf, isClear, type Judged, nameOf, type SkySpot, type Standing } from "./view.ts";

export interface AdviceOptions {
  /** How far a nearer place is looked for, m; with the dish apart, no further than its cable. */
  searchM?: number;
  /** Largest lift considered, m. */
  mostLiftM?: number;
  /** Whether the dish may stand there (parking, keep-outs); anywhere on known ground when absent. */
  mayStand?: (place: { xM: number; yM: number }) => boolean;
}

const WORDS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
export const compassWord = (azimuthDeg: number): string => WORDS[Math.round(wrap360(azimuthDeg) / 45) % 8]!;

/**
 * What would make a blocked satellite clear: the nearest place, the least lift, a roof, or the leaves off. Every answer is
 * checked with the exact tube before it is given; trimming trees is never assumed.
 */
export function adviceFor(
  scene: Scene,
  spot: SkySpot,
  standing: Standing,
  dish: DishSettings,
  judged: Judged,
  k: number,
  options: AdviceOptions = {},
): Advice[] {
  const { view, axis, look } = judged;
  if (view.clear === true) return [];
  if (look.elevationDeg < dish.minElevationDeg)
    return [
      {
        kind: "none",
        text:
          look.elevationDeg <= 0
            ? "No place nearby will do: the satellite is below the horizon here."
            : `No place nearby will do: the satellite stands at ${look.elevationDeg.toFixed(1)}°, the least elevation is ${dish.minElevationDeg}°.`,
      },
    ];
  const out: Advice[] = [];
  const name = view.id;
  if (standing.onBuilding === null) {
    const move = nearestMove(scene, spot, standing, dish, judged, k, options);
    if (move !== null) {
      const what = dish.apart ? "dish stands" : "dish moves";
      out.push({
        kind: "move",
        text: `${name} clears if the ${what} ${move.distanceM.toFixed(0)} m ${compassWord(move.azimuthDeg)} (${move.azimuthDeg.toFixed(0)}° true).`,
        ...move,
      });
    }
  }
  const lift = leastLift(scene, standing, dish, axis, options.mostLiftM ?? 15);
  if (lift !== null)
    out.push({
      kind: "lift",
      text: `${name} clears if the dish is lifted ${lift.toFixed(1)} m, to ${(standing.eyeHeightM + lift).toFixed(1)} m above ${standing.onBuilding === null ? "ground" : "the roof"}.`,
      liftM: lift,
    });
  if (standing.onBuilding === null)
    for (const roof of roofPlaces(scene, standing, dish, look, axis, k).slice(0, 2))
      out.push({
        kind: "roof",
        text: `${name} clears from the roof of ${nameOf(scene, roof.index)}, ${roof.roofHeightM.toFixed(0)} m up, ${roof.cableM.toFixed(0)} m of cable. ${ROOF_CAUTION}`,
        buildingId: scene.buildings[roof.index]!.id,
        eastM: roof.xM - standing.eye.xM,
        northM: roof.yM - standing.eye.yM,
        distanceM: Math.hypot(roof.xM - standing.eye.xM, roof.yM - standing.eye.yM),
        liftM: roof.roofHeightM,
        ...scene.frame.toLngLat(roof),
      });
  if (view.opensLeafOff)
    out.push({ kind: "leaf-off", text: `${name} opens with the leaves off; with leaves it is blocked by trees.` });
  if (out.length === 0)
    out.push({
      kind: "none",
      text: `Nothing within ${Math.round(reachOf(dish, options))} m clears ${name}: no place, no lift up to ${options.mostLiftM ?? 15} m, no roof within cable reach.`,
    });
  return out;
}

export const ROOF_CAUTION =
  "On a roof: access, load, fall protection at the edge, the owner's consent and a structural check come first; local codes and licensed practice win.";

const reachOf = (dish: DishSettings, options: AdviceOptions): number =>
  Math.min(options.searchM ?? 60, dish.apart ? dish.cableM : Number.POSITIVE_INFINITY);

interface Move extends LngLat {
  eastM: number;
  northM: number;
  distanceM: number;
  azimuthDeg: number;
}

/** Rings of places outwards, a metre (or a cell) apart, twice that beyond 20 m; the first that is clear. */
function nearestMove(
  scene: Scene,
  spot: SkySpot,
  standing: Standing,
  dish: DishSettings,
  judged: Judged,
  k: number,
  options: AdviceOptions,
): Move | null {
  const reach = reachOf(dish, options);
  const fine = Math.max(1, scene.grid.cellM);
  const convergence = scene.frame.convergenceDeg(spot.place);
  for (let r = fine; r <= Math.max(reach, fine); r += r < 20 ? fine : 2 * fine) {
    const count = Math.max(8, Math.min(64, Math.round((2 * Math.PI * r) / (r < 20 ? fine : 2 * fine))));
    for (let n = 0; n < count; n++) {
      const az = (2 * Math.PI * n) / count;
      const [eastM, northM] = [r * Math.sin(az), r * Math.cos(az)];
      const at = clearAt(
        scene,
        { xM: standing.eye.xM + eastM, yM: standing.eye.yM + northM },
        standing,
        dish,
        judged,
        k,
        options,
      );
      if (at !== null)
        return {
          eastM,
          northM,
          distanceM: r,
          azimuthDeg: wrap360(toDegrees(az) + convergence),
          ...at,
        };
    }
  }
  return null;
}

function clearAt(
  scene: Scene,
  at: { xM: number; yM: number },
  standing: Standing,
  dish: DishSettings,
  judged: Judged,
  k: number,
  options: AdviceOptions,
): LngLat | null {
  if (options.mayStand !== undefined && !options.mayStand(at)) return null;
  if (buildingUnder(scene, at.xM, at.yM, standing.active) >= 0) return null;
  const cell = cellOf(scene.grid, at);
  const ground = sampleBilinear(scene.grid, scene.groundM, cell.col, cell.row);
  if (!Number.isFinite(ground)) return null;
  const i = Math.round(cell.row) * scene.grid.cols + Math.round(cell.col);
  const canopy = scene.canopyM?.[i] ?? 0;
  const there: Standing = {
    ...standing,
    eye: { ...standing.eye, xM: at.xM, yM: at.yM, amslM: ground + standing.eyeHeightM, ownBuilding: -1 },
    treeHereM: canopy > 0 ? canopy + dish.growthM : 0,
  };
  const place = scene.frame.toLngLat(at);
  // The satellite's direction is the same to a thousandth of a degree over such distances.
  return isClear(scene, there, axisOf(scene, place, judged.look, dish, k), dish) === true ? place : null;
}

/** Least lift that clears, to a tenth of a metre; null when none up to the largest does. */
function leastLift(
  scene: Scene,
  standing: Standing,
  dish: DishSettings,
  axis: Judged["axis"],
  mostM: number,
): number | null {
  const clear = (liftM: number) =>
    isClear(
      scene,
      {
        ...standing,
        eyeHeightM: standing.eyeHeightM + liftM,
        eye: { ...standing.eye, amslM: standing.eye.amslM + liftM },
      },
      axis,
      dish,
    ) === true;
  if (!clear(mostM)) {
    // Seldom, but a crown can be cleared below its widest part only by luck: look at whole metres before giving up.
    for (let m = 1; m < mostM; m++) if (clear(m)) return refine(m - 1, m, clear);
    return null;
  }
  return refine(0, mostM, clear);
}

function refine(low: number, high: number, clear: (liftM: number) => boolean): number {
  let [a, b] = [low, high];
  while (b - a > 0.05) {
    const mid = (a + b) / 2;
    if (clear(mid)) b = mid;
    else a = mid;
  }
  const rounded = Math.ceil(b * 10 - 1e-9) / 10;
  return clear(rounded) ? rounded : b;
}
