import type { Season } from "../../plan/types.ts";
import {
  type ModelWarning,
  type RadioProfile,
  refinedLoss,
  refinedLossDb,
  vegetationLossDb,
} from "../../propagation/index.ts";
import type { Scene } from "../../terrain/scene.ts";
import { DEG, EARTH_RADIUS_KM } from "../../units/index.ts";
import { type Clearance, clearance, vegetationLengthM } from "./clearance.ts";
import { createProfile, type PathEnd, type PathProfile, samplePath } from "./sample.ts";

export interface PathSettings {
  frequencyMHz: number;
  polarization: "horizontal" | "vertical";
  k: number;
  season: Season;
  timePct: number;
  deltaN: number;
  n0: number;
}

/** Which way round the trees loses less: no trees on the path, through them (P.833) or over them (trees as solid). */
export type TreeRoute = "none" | "through" | "over";

export interface PathLoss {
  lossDb: number;
  model: string;
  parts: Record<string, number>;
  warnings: ModelWarning[];
  route: TreeRoute;
  vegetationM: number;
  vegetationDb: number;
  distanceM: number;
  unknownShare: number;
  clear: Clearance;
  /** At the unit: elevation of the direct ray if it is clear, else of the unit's horizon toward the terminal; degrees. */
  elevationAtUnitDeg: number;
  /** At the unit: direction of the terminal, degrees clockwise from grid north. */
  azimuthAtUnitDeg: number;
}

/** What scores and margins need of a path, and nothing else. */
export interface PathGain {
  lossDb: number;
  unknownShare: number;
  elevationAtUnitDeg: number;
  azimuthAtUnitDeg: number;
}

/** Paths shorter than this are taken as this long: nothing here is a near-field model. */
const SHORTEST_M = 1;

export interface PathWorkspace {
  profile: PathProfile;
  solid: RadioProfile;
  bare: RadioProfile;
}

export function createWorkspace(): PathWorkspace {
  const profile = createProfile();
  return {
    profile,
    solid: { distancesKm: profile.distancesKm, groundM: profile.groundM, obstacleM: profile.solidM, n: 0 },
    bare: { distancesKm: profile.distancesKm, groundM: profile.groundM, obstacleM: profile.bareM, n: 0 },
  };
}

/** Cuts the path and sets up both radio profiles over it. */
function cut(
  scene: Scene,
  unit: PathEnd,
  terminal: PathEnd,
  settings: PathSettings,
  work: PathWorkspace,
): Parameters<typeof refinedLoss>[1] {
  const p = work.profile;
  samplePath(scene, unit, terminal, p);
  if (p.distanceM < SHORTEST_M) stretch(p);
  work.solid.n = p.n;
  work.bare.n = p.n;
  return {
    frequencyMHz: settings.frequencyMHz,
    txHeightM: p.unitAmslM - p.groundM[0]!,
    rxHeightM: p.terminalAmslM - p.groundM[p.n - 1]!,
    polarization: settings.polarization,
    timePct: settings.timePct,
    deltaN: settings.deltaN,
    n0: settings.n0,
  };
}

/**
 * Refined loss of one path of a scene: P.526 below 0.25 km, P.1812 from there; twice where trees stand on the path
 * (canopy solid; canopy absent plus P.833 over the direct ray's length inside it), the lesser counting.
 * @returns lossDb NaN where the path has no known height at all; look at unknownShare before judging by it
 */
export function pathLoss(
  scene: Scene,
  unit: PathEnd,
  terminal: PathEnd,
  settings: PathSettings,
  work: PathWorkspace,
): PathLoss {
  const p = work.profile;
  const ends = cut(scene, unit, terminal, settings, work);
  const clear = clearance(p, settings.frequencyMHz, settings.k);
  const vegetationM = vegetationLengthM(p, settings.k);
  const over = refinedLoss(work.solid, ends);
  let best = over;
  let route: TreeRoute = p.hasCanopy ? "over" : "none";
  let vegetationDb = 0;
  if (p.hasCanopy) {
    const bare = refinedLoss(work.bare, ends);
    const inside = vegetationLossDb(vegetationM, settings.frequencyMHz, settings.season);
    if (bare.lossDb + inside <= over.lossDb) {
      best = { ...bare, lossDb: bare.lossDb + inside };
      vegetationDb = inside;
      route = vegetationM > 0 ? "through" : "none";
    }
  }
  return {
    lossDb: best.lossDb,
    model: best.model,
    parts: best.parts,
    warnings: best.warnings,
    route,
    vegetationM: route === "through" ? vegetationM : 0,
    vegetationDb,
    distanceM: p.distanceM,
    unknownShare: p.unknownShare,
    clear,
    elevationAtUnitDeg: unitElevationDeg(p, route === "through" ? p.bareM : p.solidM, settings.k),
    azimuthAtUnitDeg: azimuthDeg(unit, terminal),
  };
}

/** The numbers of pathLoss that a score needs, bit for bit, without its terms: tens of thousands of paths make a ranking. */
export function pathGain(
  scene: Scene,
  unit: PathEnd,
  terminal: PathEnd,
  settings: PathSettings,
  work: PathWorkspace,
): PathGain {
  const p = work.profile;
  const ends = cut(scene, unit, terminal, settings, work);
  let lossDb = refinedLossDb(work.solid, ends);
  let through = false;
  if (p.hasCanopy) {
    const vegetationM = vegetationLengthM(p, settings.k);
    const inside = vegetationLossDb(vegetationM, settings.frequencyMHz, settings.season);
    const bareDb = p.treesDiffer ? refinedLossDb(work.bare, ends) : lossDb;
    if (bareDb + inside <= lossDb) {
      lossDb = bareDb + inside;
      through = vegetationM > 0;
    }
  }
  return {
    lossDb,
    unknownShare: p.unknownShare,
    elevationAtUnitDeg: unitElevationDeg(p, through ? p.bareM : p.solidM, settings.k),
    azimuthAtUnitDeg: azimuthDeg(unit, terminal),
  };
}

const azimuthDeg = (unit: PathEnd, terminal: PathEnd): number =>
  (((Math.atan2(terminal.xM - unit.xM, terminal.yM - unit.yM) / DEG) % 360) + 360) % 360;

function stretch(p: PathProfile): void {
  p.distanceM = SHORTEST_M;
  p.stepM = SHORTEST_M / (p.n - 1);
  for (let i = 0; i < p.n; i++) p.distancesKm[i] = (i * p.stepM) / 1000;
}

/**
 * Elevation at the unit's antenna of the direct ray, or of the highest obstacle on the way when that blocks it, degrees.
 * Heights are those of the route taken: trees do not bend a ray that goes through them.
 */
function unitElevationDeg(p: PathProfile, heightsM: Float64Array, k: number): number {
  const radiusM = k * EARTH_RADIUS_KM * 1000;
  let tangent = (p.terminalAmslM - p.unitAmslM) / p.distanceM - p.distanceM / (2 * radiusM);
  for (let i = 1; i < p.n - 1; i++) {
    const d = i * p.stepM;
    const t = (heightsM[i]! - p.unitAmslM) / d - d / (2 * radiusM);
    if (t > tangent) tangent = t;
  }
  return Math.atan(tangent) / DEG;
}
