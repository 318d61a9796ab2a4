import {
  type PointOut,
  type ProfileLink,
  profileBatch,
  type SweepJob,
  type SweepOut,
  type SweepScene,
  type SweepTerrain,
  sweepPoint,
  sweepVisible,
  type VisibleJob,
} from "../../src/coverage/index.ts";
import type { Evaluation, MipAnswer, MipJob, SkyValues } from "../../src/placement/index.ts";
import type { SatelliteView } from "../../src/plan/outputs/types.ts";
import {
  type EvaluateTask,
  performEvaluate,
  performScreenSky,
  performScreenSweep,
  performViews,
  type ScreenSkyTask,
  type ScreenSweepTask,
  type ViewsTask,
} from "./plan-tasks.ts";
import { performSolveMip } from "./solve-mip.ts";

/** What a task may use while it works. */
export interface TaskContext {
  /** True once the run is no longer wanted; ask often, at least every 50 ms. */
  shouldStop(): boolean;
  /** Share of this task that is done, 0…1. */
  onProgress(share: number): void;
}

interface Slice {
  rayFrom: number;
  rayTo: number;
}

export interface SweepPointTask extends Slice {
  scene: SweepScene;
  job: Omit<SweepJob, "canopy">;
  out: PointOut;
}

export interface SweepVisibleTask extends Slice {
  terrain: SweepTerrain;
  job: VisibleJob;
  out: Uint8Array;
}

export interface ProfileBatchTask {
  terrain: SweepTerrain;
  link: ProfileLink;
  paths: Float64Array;
  out: SweepOut;
  from: number;
  to: number;
}

/**
 * Every message between the threads: name → what goes to the worker and what comes back. Large arrays sit in
 * SharedArrayBuffers, so they are neither copied nor returned; the worker fills them.
 * A new kind of work is one line here and one line in HANDLERS.
 */
export interface TaskTable {
  "sweep-point": { request: SweepPointTask; response: null };
  "sweep-visible": { request: SweepVisibleTask; response: null };
  "profile-batch": { request: ProfileBatchTask; response: null };
  "screen-sweep": { request: ScreenSweepTask; response: null };
  "screen-sky": { request: ScreenSkyTask; response: SkyValues };
  "spot-views": { request: ViewsTask; response: SatelliteView[] };
  "evaluate-places": { request: EvaluateTask; response: Evaluation[] };
  "solve-mip": { request: MipJob; response: MipAnswer };
}

export type TaskName = keyof TaskTable;
export type TaskRequest<N extends TaskName> = TaskTable[N]["request"];
export type TaskResponse<N extends TaskName> = TaskTable[N]["response"];
export type TaskHandlers = {
  [N in TaskName]: (request: TaskRequest<N>, context: TaskContext) => TaskResponse<N> | Promise<TaskResponse<N>>;
};

export const HANDLERS: TaskHandlers = {
  "sweep-point": ({ scene, job, out, rayFrom, rayTo }, context) => {
    sweepPoint(scene, job, out, { ...context, rayFrom, rayTo });
    return null;
  },
  "sweep-visible": ({ terrain, job, out, rayFrom, rayTo }, context) => {
    sweepVisible(terrain, job, out, { ...context, rayFrom, rayTo });
    return null;
  },
  "profile-batch": ({ terrain, link, paths, out, from, to }, context) => {
    profileBatch(terrain, link, paths, out, { ...context, from, to });
    return null;
  },
  "screen-sweep": performScreenSweep,
  "screen-sky": performScreenSky,
  "spot-views": performViews,
  "evaluate-places": performEvaluate,
  "solve-mip": performSolveMip,
};
