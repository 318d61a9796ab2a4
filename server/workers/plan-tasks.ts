import type { XY } from "../../src/geodesy/types.ts";
import {
  type Evaluation,
  evaluate,
  type ScreenSweep,
  type ScreenValues,
  type SkyValues,
  type SkyWhen,
} from "../../src/placement/index.ts";
import { screenSweep } from "../../src/placement/screen-sweep.ts";
import { satelliteViews } from "../../src/placement/spot-detail.ts";
import type { SatelliteView } from "../../src/plan/outputs/types.ts";
import { clearanceMap } from "../../src/satellite/index.ts";
import { openContext, openSweeps, type PlanContext } from "./plan-context.ts";
import type { TaskContext } from "./tasks.ts";

export interface ScreenSweepTask {
  context: PlanContext;
  cells: Uint32Array;
  job: ScreenSweep;
  /** Filled by the worker; shared memory, one value per cell. */
  out: ScreenValues;
}

export interface ScreenSkyTask {
  context: PlanContext;
  cells: Uint32Array;
  satelliteDeg: number;
}

export interface EvaluateTask {
  context: PlanContext;
  places: XY[];
}

export interface ViewsTask {
  context: PlanContext;
  place: XY;
  when: SkyWhen;
}

export function performScreenSweep({ context, cells, job, out }: ScreenSweepTask, task: TaskContext): null {
  const opened = openContext(context);
  const { scene, season, k } = opened.scenario;
  const values = screenSweep(scene, job, cells, season, k, openSweeps(opened, cells), () => task.shouldStop());
  out.lossDb.set(values.lossDb);
  out.elevationDeg.set(values.elevationDeg);
  return null;
}

export function performScreenSky({ context, cells, satelliteDeg }: ScreenSkyTask): SkyValues {
  const { scenario } = openContext(context);
  const mask = new Uint8Array(scenario.scene.grid.cols * scenario.scene.grid.rows);
  for (const c of cells) mask[c] = 1;
  const map = clearanceMap(scenario.scene, scenario.scene.frame.origin, satelliteDeg, scenario.dish!, { mask });
  return {
    clearanceDeg: Float32Array.from(cells, (c) => map.clearanceDeg[c]!),
    treeClearanceDeg: map.treeClearanceDeg ? Float32Array.from(cells, (c) => map.treeClearanceDeg![c]!) : null,
  };
}

export function performEvaluate({ context, places }: EvaluateTask, task: TaskContext): Evaluation[] {
  const { scenario } = openContext(context);
  const out: Evaluation[] = [];
  for (const place of places) {
    if (task.shouldStop()) break;
    out.push(evaluate(scenario, place));
    task.onProgress(out.length / places.length);
  }
  return out;
}

export function performViews({ context, place, when }: ViewsTask): SatelliteView[] {
  return satelliteViews(openContext(context).scenario, place, when);
}
