import type { XY } from "../geodesy/types.ts";
import type { SatelliteView } from "../plan/outputs/types.ts";
import type { Evaluation } from "./evaluate.ts";
import type { MipAnswer, MipJob } from "./layouts/mip.ts";
import type { SkyWhen } from "./when.ts";

/** One sweep outward from a place, evaluated at the candidate cells only. */
export interface ScreenSweep {
  xM: number;
  yM: number;
  heightM: number;
  /** Building the terminal is inside or on, −1 for none. */
  building: number;
  onRoof: boolean;
  frequencyMHz: number;
  polarization: "horizontal" | "vertical";
  /** Antenna height above ground at every candidate. */
  receiverHeightM: number;
}

/** What a sweep gives at the candidate cells, in their order. */
export interface ScreenValues {
  /** NaN = unknown. */
  lossDb: Float32Array;
  /** Elevation at the candidate's antenna toward the place, degrees. */
  elevationDeg: Float32Array;
}

export interface SkyValues {
  /** Clearance of the clear tube at every candidate, degrees; NaN = unknown. */
  clearanceDeg: Float32Array;
  treeClearanceDeg: Float32Array | null;
}

export interface Progress {
  step: string;
  stepIndex: number;
  stepCount: number;
  done: number;
  total: number;
}

export interface RunHooks {
  onProgress?: (p: Progress) => void;
  signal?: AbortSignal;
}

/** Who does the heavy work: this thread, or a pool of them. Results do not depend on which. */
export interface RankExecutor {
  sweeps(
    jobs: readonly ScreenSweep[],
    cells: Uint32Array,
    onDone: (done: number) => void,
    signal?: AbortSignal,
  ): Promise<ScreenValues[]>;
  sky(satelliteDeg: readonly number[], cells: Uint32Array, signal?: AbortSignal): Promise<SkyValues[]>;
  evaluate(places: readonly XY[], onDone: (done: number) => void, signal?: AbortSignal): Promise<Evaluation[]>;
  /** Exact view of every satellite of the plan from each place; asked only of plans with a dish. */
  views(
    places: readonly XY[],
    when: SkyWhen,
    onDone: (done: number) => void,
    signal?: AbortSignal,
  ): Promise<SatelliteView[][]>;
  /** Solves a mixed-integer problem; left out where there is no solver, then own searches do alone. */
  solveMip?(job: MipJob, signal?: AbortSignal): Promise<MipAnswer>;
}
