import { HardstandError } from "../errors/index.ts";
import type { LngLat } from "../geodesy/types.ts";
import type { Blocker, LookRow, SatelliteView } from "../plan/outputs/types.ts";
import type { Satellite } from "../plan/types.ts";
import { cellOf, nearestCell, type Scene, sampleBilinear } from "../terrain/scene.ts";
import { DEG, EARTH_RADIUS_KM, STANDARD_K, toDegrees, wrap360 } from "../units/index.ts";
import type { DishSettings } from "./dish.ts";
import { lookAngles } from "./look-angles.ts";
import { standsOn } from "./sky-index.ts";
import {
  type Axis,
  buildingUnder,
  type Eye,
  exitDistance,
  lowerEdgeM,
  type Touch,
  type TubeResult,
  tubeTest,
} from "./tube.ts";

/** Where the dish stands. */
export interface SkySpot {
  place: LngLat;
  /** Dish centre above ground, or above the roof with `onBuilding`; default the dish's own eye height, m. */
  eyeHeightM?: number;
  /** Id of the building whose roof carries the dish. */
  onBuilding?: string;
}

/** The moment that settles magnetic values and temporary obstacles. */
export interface SkyWhen {
  /** ISO date, or an instant. */
  date: string;
  declinationDeg: number;
  /** Name of the field model the declination comes from. */
  model: string;
}

export interface ViewOptions {
  /** Effective Earth radius factor for terrain; default 4/3. */
  k?: number;
}

/** A spot made ready: its eye, what stands on the day, and what to say about it. */
export interface Standing {
  eye: Eye;
  active: boolean[];
  groundAmslM: number | null;
  eyeHeightM: number;
  onBuilding: string | null;
  /** Height of vegetation in the spot's own cell, m. */
  treeHereM: number;
  notes: string[];
}

/**
 * Finds the ground (or roof) under a spot and the dish centre over it.
 * Throws sky.inside-building where the spot lies in a building and no roof or sufficient height is given, terrain.coverage
 * where no ground is known there, plan.unknown-reference for a building that is not in the scene.
 */
export function standAt(scene: Scene, spot: SkySpot, dish: DishSettings, date: string): Standing {
  const { xM, yM } = scene.frame.toXY(spot.place);
  const active = scene.buildings.map((b) => standsOn(b, date));
  const notes: string[] = [];
  const at = cellOf(scene.grid, { xM, yM });
  const cell = nearestCell(scene.grid, { xM, yM });
  let ground = sampleBilinear(scene.grid, scene.groundM, at.col, at.row);
  if (!Number.isFinite(ground) && cell !== null) ground = scene.groundM[cell.index]!;
  const groundAmslM = Number.isFinite(ground) ? ground : null;
  const under = buildingUnder(scene, xM, yM, active);
  const eyeHeightM = spot.eyeHeightM ?? dish.eyeHeightM;
  let own = -1;
  let eyeAmslM = ground + eyeHeightM;
  let onBuilding: string | null = null;
  if (spot.onBuilding !== undefined) {
    own = scene.buildings.findIndex((b) => b.id === spot.onBuilding);
    if (own < 0)
      throw new HardstandError("plan.unknown-reference", "there is no building of this id", {
        where: "onBuilding",
        received: spot.onBuilding,
        hint: "take the id of a building in the plan's buildings file",
      });
    if (under !== own)
      notes.push(
        `The spot lies outside the outline of ${nameOf(scene, own)}; the height is that of its roof all the same.`,
      );
    onBuilding = spot.onBuilding;
    eyeAmslM = scene.buildings[own]!.topAmslM + eyeHeightM;
  } else if (under >= 0) {
    const building = scene.buildings[under]!;
    const roofM = building.topAmslM - (groundAmslM ?? building.baseAmslM);
    const given = spot.eyeHeightM !== undefined;
    if (!given || eyeHeightM <= roofM)
      throw new HardstandError(
        "sky.inside-building",
        `the spot lies inside ${nameOf(scene, under)}, whose roof is ${roofM.toFixed(1)} m above ground`,
        {
          where: "spot",
          received: `${spot.place.lng},${spot.place.lat}`,
          hint: `move it out of the outline, name the building to stand on its roof, or give a height above ${roofM.toFixed(1)} m`,
        },
      );
    own = under;
    onBuilding = building.id;
    eyeAmslM = (groundAmslM ?? building.baseAmslM) + eyeHeightM;
  }
  if (!Number.isFinite(eyeAmslM))
    throw new HardstandError(
      "terrain.coverage",
      cell === null ? "the spot lies outside the ground data" : "there is no ground height at the spot",
      {
        where: "spot",
        received: `${spot.place.lng},${spot.place.lat}`,
        hint: "pick a spot on known ground, or add a raster that covers it",
      },
    );
  const canopy = scene.canopyM === null || cell === null || own >= 0 ? 0 : scene.canopyM[cell.index]!;
  return {
    eye: { xM, yM, amslM: eyeAmslM, ownBuilding: own, parapetM: own >= 0 ? dish.parapetM : 0 },
    active,
    groundAmslM,
    eyeHeightM,
    onBuilding,
    treeHereM: canopy > 0 ? canopy + dish.growthM : 0,
    notes,
  };
}

export const nameOf = (scene: Scene, n: number): string => {
  const b = scene.buildings[n]!;
  return b.name === "" ? `building ${b.id}` : b.name;
};

/** The tube's axis in the scene's frame for a satellite seen from a place. */
export function axisOf(scene: Scene, place: LngLat, look: LookRow, dish: DishSettings, k: number): Axis {
  return {
    gridAzimuthDeg: wrap360(look.azimuthDeg - scene.frame.convergenceDeg(place)),
    elevationDeg: Math.min(look.elevationDeg, 89.999),
    radiusM: dish.diameterM / 2,
    earthM: k * EARTH_RADIUS_KM * 1000,
  };
}

/** Whether the tube at the asked margins is free, fast: true, false, or null where something is unknown. */
export function isClear(scene: Scene, standing: Standing, axis: Axis, dish: DishSettings): boolean | null {
  if (axis.elevationDeg <= 0 || axis.elevationDeg < dish.minElevationDeg) return false;
  if (standing.treeHereM > Math.max(2, standing.eyeHeightM)) return false;
  const result = tubeTest(scene, standing.eye, axis, {
    growthM: dish.growthM,
    edgeHeightM: dish.dataEdgeHeightM,
    marginDeg: dish.marginDeg,
    active: standing.active,
    capHardDeg: dish.marginDeg,
    capSoftDeg: dish.treeMarginDeg,
    quick: true,
  });
  if (result.hard !== null || result.soft !== null) return false;
  return result.unknown === null ? true : null;
}

/** Clearance that a worst touch leaves, degrees: the margin it allows, or minus the elevation needed where the ray is blocked. */
export function clearanceOf(touch: Touch | null): number {
  if (touch === null) return 89;
  if (touch.needDeg > 0) return -touch.needDeg;
  return toDegrees(Math.atan(touch.tangent));
}

/** Trees further off the axis than this are not looked for: a clearance of this value means "at least". */
const TREES_AT_LEAST_DEG = 60;

/** Evaluation of one satellite before advice: the view and what advice needs to know. */
export interface Judged {
  view: SatelliteView;
  look: LookRow;
  axis: Axis;
  hardClear: boolean;
  softClear: boolean;
  treesOnly: boolean;
}

/** Judges one satellite from a standing spot. */
export function judge(
  scene: Scene,
  spot: SkySpot,
  standing: Standing,
  dish: DishSettings,
  satellite: Satellite,
  when: SkyWhen,
  k: number,
): Judged {
  const look = lookAngles({ ...spot.place, heightM: standing.eye.amslM }, satellite.longitudeDeg, when.declinationDeg);
  const axis = axisOf(scene, spot.place, look, dish, k);
  const notes = [...standing.notes];
  const below = look.elevationDeg <= 0;
  if (below)
    notes.push(`The satellite is ${(-look.elevationDeg).toFixed(1)}° below the horizon: it cannot be seen from here.`);
  else if (look.elevationDeg < dish.minElevationDeg)
    notes.push(`Elevation ${look.elevationDeg.toFixed(1)}° is below the least elevation of ${dish.minElevationDeg}°.`);
  // A satellite at or below the horizon has no tube over the ground; its deficit is taken along a ray just above level.
  const raised = below ? { ...axis, elevationDeg: 0.01 } : axis;
  const result = tubeTest(scene, standing.eye, raised, {
    growthM: dish.growthM,
    edgeHeightM: dish.dataEdgeHeightM,
    marginDeg: dish.marginDeg,
    active: standing.active,
    capHardDeg: 89,
    capSoftDeg: TREES_AT_LEAST_DEG,
  });
  const sunk = raised.elevationDeg - axis.elevationDeg;
  const underTrees = standing.treeHereM > Math.max(2, standing.eyeHeightM);
  const soft = underTrees ? treeHere(standing, axis) : result.soft;
  const noCanopy = scene.canopyM === null;
  const lower = (touch: Touch | null) => {
    const c = clearanceOf(touch);
    return below ? Math.min(c, 0) - sunk : c;
  };
  const hardDeg = lower(result.hard);
  const softDeg = Math.min(lower(soft), TREES_AT_LEAST_DEG);
  const hardClear = !below && hardDeg >= dish.marginDeg;
  const softClear = !below && softDeg >= dish.treeMarginDeg;
  const unknown = result.unknown;
  const known = hardClear && softClear;
  const tooLow = look.elevationDeg < dish.minElevationDeg;
  const clear = tooLow || !known ? false : unknown === null ? true : null;
  const trees = scene.canopyM !== null && (soft === null || soft.kind === "tree");
  // Without a canopy layer anything on the surface may be a tree, so it takes the margin to trees.
  const softLeads = noCanopy && softDeg - dish.treeMarginDeg < hardDeg - dish.marginDeg;
  const clearanceDeg = noCanopy ? Math.min(hardDeg, softDeg) : hardDeg;
  if (noCanopy && scene.hasSurface && softLeads && softDeg < 45)
    notes.push(`No canopy layer: what stands on the surface may be a tree, so it needs ${dish.treeMarginDeg}°.`);
  if (!scene.hasSurface) notes.push("Bare ground only: trees and buildings are not in it.");
  if (scene.canopyM !== null && dish.growthM > 0 && soft !== null)
    notes.push(`Trees are taken ${dish.growthM} m taller than measured.`);
  if (underTrees) notes.push(`The spot itself is under vegetation ${standing.treeHereM.toFixed(1)} m high.`);
  const limiting = pickBlocker(result, soft, hardDeg, softDeg, dish, known, unknown);
  if (unknown !== null) {
    notes.push(
      `No data from ${unknown.distanceM.toFixed(0)} m on, where the tube's lower edge is ${lowerEdgeM(raised, dish.marginDeg, unknown.distanceM).toFixed(0)} m above the dish: not known to be clear.`,
    );
  } else if (!below) notes.push(...edgeNote(scene, standing.eye, raised, dish));
  const view: SatelliteView = {
    id: satellite.id,
    satelliteDeg: satellite.longitudeDeg,
    role: satellite.role ?? "primary",
    azimuthDeg: look.azimuthDeg,
    azimuthMagneticDeg: look.azimuthMagneticDeg,
    elevationDeg: look.elevationDeg,
    elevationRefractedDeg: look.elevationRefractedDeg,
    skewDeg: look.skewDeg,
    rangeKm: look.rangeKm,
    clearanceDeg: clear === null ? null : clearanceDeg,
    treeClearanceDeg: trees && !(clear === null) ? softDeg : null,
    neededDeg: softLeads ? dish.treeMarginDeg : dish.marginDeg,
    neededTreeDeg: dish.treeMarginDeg,
    clear,
    opensLeafOff: !tooLow && hardClear && !softClear && trees && unknown === null,
    blockedBy: limiting === null ? null : blockerOf(scene, limiting, look, raised, dish),
    advice: [],
    notes,
  };
  return { view, look, axis, hardClear, softClear, treesOnly: hardClear && !softClear };
}

function treeHere(standing: Standing, axis: Axis): Touch {
  return {
    kind: "tree",
    building: null,
    distanceM: 0,
    gridAzimuthDeg: axis.gridAzimuthDeg,
    topAmslM: standing.eye.amslM - standing.eyeHeightM + standing.treeHereM,
    tangent: Number.NEGATIVE_INFINITY,
    needDeg: 90 - axis.elevationDeg,
    alongM: 0,
    offM: -(standing.treeHereM - standing.eyeHeightM),
  };
}

/** The thing that stands most in the way: only when the tube is not clear. */
function pickBlocker(
  result: TubeResult,
  soft: Touch | null,
  hardDeg: number,
  softDeg: number,
  dish: DishSettings,
  known: boolean,
  unknown: Touch | null,
): Touch | null {
  if (known) return unknown;
  const hardShort = hardDeg - dish.marginDeg;
  const softShort = softDeg - dish.treeMarginDeg;
  if (hardShort < 0 && (result.hard?.needDeg ?? -1) > 0 && !((soft?.needDeg ?? -1) > 0)) return result.hard;
  return softShort < hardShort ? soft : (result.hard ?? soft);
}

function edgeNote(scene: Scene, eye: Eye, axis: Axis, dish: DishSettings): string[] {
  const sin = Math.sin(axis.gridAzimuthDeg * DEG);
  const cos = Math.cos(axis.gridAzimuthDeg * DEG);
  const near = exitDistance(eye, scene.grid, sin, cos);
  const out: string[] = [];
  const say = (distanceM: number, what: string) =>
    `${what} end ${distanceM < 10_000 ? `${distanceM.toFixed(0)} m` : `${(distanceM / 1000).toFixed(0)} km`} away, where the tube's lower edge is ${lowerEdgeM(axis, dish.marginDeg, distanceM).toFixed(0)} m above the dish: taken as clear beyond.`;
  out.push(say(near, scene.hasSurface ? "Surface data" : "Ground data"));
  if (scene.farField !== null && !scene.hasSurface) {
    const far = exitDistance(eye, scene.farField.grid, sin, cos);
    if (far > near) out[0] = say(far, "Ground data");
  }
  return out;
}

function blockerOf(scene: Scene, touch: Touch, look: LookRow, axis: Axis, dish: DishSettings): Blocker {
  const needed = touch.kind === "tree" ? dish.treeMarginDeg : dish.marginDeg;
  const half = axis.radiusM + Math.max(0, touch.alongM) * Math.tan(needed * DEG);
  const turn = look.azimuthDeg - axis.gridAzimuthDeg;
  return {
    kind: touch.kind,
    id: touch.building?.id ?? null,
    name: touchName(scene, touch),
    distanceM: touch.distanceM,
    azimuthDeg: wrap360(touch.gridAzimuthDeg + turn),
    topAmslM: touch.kind === "data-edge" ? null : touch.topAmslM,
    intrusionM: touch.kind === "data-edge" ? 0 : half - touch.offM,
  };
}

function touchName(scene: Scene, touch: Touch): string {
  if (touch.building !== null)
    return touch.building.name === "" ? `building ${touch.building.id}` : touch.building.name;
  switch (touch.kind) {
    case "tree":
      return "trees";
    case "terrain":
      return "the ground";
    case "data-edge":
      return "ground without data";
    default:
      return scene.canopyM === null ? "something on the surface (building or tree)" : "something solid on the surface";
  }
}

/** Default effective Earth radius factor. */
export const defaultK = (options: ViewOptions): number => options.k ?? STANDARD_K;
