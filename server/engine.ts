import type { LngLat, LocalFrame } from "../src/geodesy/types.ts";
import type { CoverWhat, Dataset } from "../src/plan/http.ts";
import type {
  CellAnswer,
  CoverAnswer,
  LookRow,
  ModelRow,
  PathAnswer,
  RankAnswer,
  SkyAnswer,
} from "../src/plan/outputs/types.ts";
import type { LoadedPlan } from "../src/plan/types.ts";
import type { Grid, Scene } from "../src/terrain/scene.ts";

export interface Progress {
  step: string;
  /** Counts from 0. */
  stepIndex: number;
  stepCount: number;
  done: number;
  total: number;
}

export interface Hooks {
  onProgress?(progress: Progress): void;
  /** Aborted when the answer is no longer wanted; the engine then rejects with run.cancelled. */
  signal?: AbortSignal;
  /** Called with whatever is complete in itself; kept when the run is cancelled afterwards. */
  onPartial?(partial: RankResult): void;
}

/** Reason value of a cell about which nothing can be said. */
export const REASON_UNKNOWN = 255;

export interface SuitabilitySurface {
  grid: Grid;
  /** Score 0–100; NaN = not parking, struck out or unknown. */
  scorePct: Float32Array;
  /** 0 = none (parking that may be used, or no parking at all), else 1 + index in REJECT_REASONS; 255 unknown. */
  reason: Uint8Array;
}

export interface RankResult {
  answer: RankAnswer;
  surface: SuitabilitySurface;
}

export interface CoverArgs {
  lng: number;
  lat: number;
  service: string;
  need?: string;
  terminal?: string;
  what: CoverWhat;
  radiusM?: number;
}

export interface CoverResult {
  answer: CoverAnswer;
  /** In the answer's unit, row-major on `grid`; NaN = unknown or beyond the radius. */
  values: Float32Array;
  grid: Grid;
}

/** The computing side as the service sees it. Everything may be called again at any time; nothing is kept half-done. */
export interface Engine {
  /** Reads and checks a plan folder; throws HardstandError. */
  load(planDir: string, planFile: string): Promise<LoadedPlan>;
  /** Scene of a plan (cached by content). */
  scene(loaded: LoadedPlan, hooks: Hooks): Promise<Scene>;
  rank(loaded: LoadedPlan, scene: Scene, hooks: Hooks): Promise<RankResult>;
  cover(loaded: LoadedPlan, scene: Scene, args: CoverArgs, hooks: Hooks): Promise<CoverResult>;
  cell(
    loaded: LoadedPlan,
    scene: Scene,
    surface: SuitabilitySurface | null,
    place: LngLat,
    full: boolean,
    hooks: Hooks,
  ): Promise<CellAnswer>;
  sky(loaded: LoadedPlan, scene: Scene, place: LngLat, heightM?: number, roofId?: string): Promise<SkyAnswer>;
  look(loaded: LoadedPlan, place: LngLat, heightM: number): LookRow[];
  path(
    loaded: LoadedPlan,
    scene: Scene,
    from: LngLat,
    to: LngLat,
    serviceId: string,
    pointId?: string,
  ): Promise<PathAnswer>;
  /** Local frame of an origin: finished runs are drawn without building their ground again. */
  frame(origin: LngLat): LocalFrame;
  /** The model registry as `hardstand models` prints it. */
  models(): ModelRow[];
  /** What the plan's rasters are; without it the service tells what the plan itself says of them. */
  datasets?(loaded: LoadedPlan, scene: Scene): Dataset[];
  close?(): Promise<void>;
}
