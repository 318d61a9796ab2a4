import type { Scene } from "../terrain/scene.ts";
import { createSweepOut, type Route, runSweep, type SweepWanted } from "./sweep-loss.ts";
import type { SweepHooks, SweepJob, SweepOut, SweepTerrain } from "./types.ts";

/** A scene as sweeps see it; arrays are the scene's own, so that threads share them. */
export interface SweepScene {
  cols: number;
  rows: number;
  cellM: number;
  groundM: Float32Array;
  /** Canopy counted as solid. */
  surfaceM: Float32Array;
  /** Canopy absent. */
  bareSurfaceM: Float32Array;
  /** Ground plus vegetation where there is any, −Infinity elsewhere; null without a canopy. */
  canopyTopM: Float32Array | null;
}

export const ROUTE_OVER = 0;
export const ROUTE_THROUGH = 1;

export interface PointOut extends SweepOut {
  /** Which route lost less: 0 over (canopy solid), 1 through it. Null: not asked for. */
  route: Uint8Array | null;
}

/** The scene as sweeps need it. The canopy's top is worked out once, into shared memory where the ground is in it. */
export function sweepScene(scene: Scene): SweepScene {
  const { cols, rows, cellM } = scene.grid;
  let canopyTopM: Float32Array | null = null;
  if (scene.canopyM !== null) {
    const cells = cols * rows;
    const shared = scene.groundM.buffer instanceof SharedArrayBuffer;
    canopyTopM = new Float32Array(shared ? new SharedArrayBuffer(cells * 4) : new ArrayBuffer(cells * 4));
    for (let i = 0; i < cells; i++)
      canopyTopM[i] = scene.canopyM[i]! > 0 ? scene.groundM[i]! + scene.canopyM[i]! : Number.NEGATIVE_INFINITY;
  }
  return {
    cols,
    rows,
    cellM,
    groundM: scene.groundM,
    surfaceM: scene.surfaceM,
    bareSurfaceM: scene.bareSurfaceM,
    canopyTopM,
  };
}

/** Output arrays of sweepPoint, filled with "not evaluated"; `shared` as for createSweepOut. */
export function createPointOut(
  cells: number,
  wanted: SweepWanted & { route?: boolean } = {},
  shared = false,
): PointOut {
  const route = wanted.route ? new Uint8Array(shared ? new SharedArrayBuffer(cells) : new ArrayBuffer(cells)) : null;
  return { ...createSweepOut(cells, wanted, shared), route };
}

/**
 * Loss between a point and every cell around it with vegetation taken the way that loses less: over it (canopy solid) or
 * through it (canopy absent, plus the loss inside vegetation along the direct ray). Line of sight is against solid canopy;
 * elevation and length inside vegetation are those of the route taken; the share of unknown is the larger of the two.
 *
 * Vegetation is counted where its top stands at or above the direct ray, also where ground hides that ray: a blocked path
 * skims the ground there and passes through the whole of it.
 *
 * Without a canopy, or without job.vegetation, only the first route is swept.
 * Source: Rec. ITU-R P.526-15 §4.5, P.833-9 §2.1.
 */
export function sweepPoint(
  scene: SweepScene,
  job: Omit<SweepJob, "canopy">,
  out: PointOut,
  hooks: SweepHooks = {},
): void {
  runSweep(routesOf(scene, job), { ...job, canopy: "solid" }, out, out.route, hooks);
}

function routesOf(scene: SweepScene, job: Omit<SweepJob, "canopy">): Route[] {
  const { cols, rows, cellM, groundM, surfaceM, bareSurfaceM, canopyTopM } = scene;
  const over: SweepTerrain = { cols, rows, cellM, groundM, obstacleM: surfaceM, canopyTopM };
  const routes: Route[] = [{ terrain: over, canopyTopM: null, vegetation: null }];
  if (canopyTopM !== null && job.vegetation)
    routes.push({ terrain: { ...over, obstacleM: bareSurfaceM }, canopyTopM, vegetation: job.vegetation });
  return routes;
}
