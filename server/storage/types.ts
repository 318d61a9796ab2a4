import type { ErrorBody } from "../../src/errors/index.ts";
import type { LngLat } from "../../src/geodesy/types.ts";
import type { DraftPlan } from "../../src/plan/draft.ts";
import type { FileRow, PlanRow, RevisionRow, RunKind, RunState, SampleRow, StartRunBody } from "../../src/plan/http.ts";
import type { CoverAnswer, RankAnswer } from "../../src/plan/outputs/types.ts";
import type { Grid } from "../../src/terrain/scene.ts";
import type { CoverResult, RankResult, SuitabilitySurface } from "../engine.ts";

/** Where a plan's folder is and which file in it holds a revision. */
export interface PlanPlace {
  folder: string;
  file: string;
}

export interface StoredPlan {
  id: string;
  revision: number;
  updatedAt: string;
  plan: DraftPlan;
}

export interface StoredRun {
  runId: string;
  kind: RunKind;
  state: RunState;
  planId: string;
  planRevision: number;
  args: StartRunBody;
  createdAt: string;
  startedAt: string | null;
  finishedAt: string | null;
  error: ErrorBody | null;
  summary: string;
  hasResult: boolean;
  /** Seconds each step took, in order; null before the run ended. */
  stepSeconds: { step: string; seconds: number }[] | null;
}

export type StoredResult =
  | { kind: "rank"; answer: RankAnswer; surface: SuitabilitySurface; origin: LngLat }
  | { kind: "cover"; answer: CoverAnswer; values: Float32Array; grid: Grid; origin: LngLat };

export type ResultToStore =
  | { kind: "rank"; result: RankResult; origin: LngLat }
  | { kind: "cover"; result: CoverResult; origin: LngLat };

export interface Finish {
  state: "done" | "cancelled" | "failed";
  error: ErrorBody | null;
  summary: string;
  stepSeconds: { step: string; seconds: number }[];
  result: ResultToStore | null;
}

/** Upload in progress: bytes go to a file that nobody takes for whole until `keep`. */
export interface Upload {
  write(data: Uint8Array): Promise<void>;
  keep(replace: boolean): Promise<{ bytes: number; sha256: string; revision: number }>;
  drop(): Promise<void>;
}

/**
 * Everything the service keeps. One implementation over embedded SQLite and files; another may sit over a database
 * server. All methods reject with HardstandError. An id that is not there is http.not-found.
 */
export interface Store {
  health(): Promise<void>;
  samples(): Promise<SampleRow[]>;

  plans(): Promise<PlanRow[]>;
  createPlan(plan: DraftPlan): Promise<{ id: string; revision: number }>;
  createFromSample(sampleId: string): Promise<{ id: string; revision: number }>;
  plan(id: string): Promise<StoredPlan>;
  /** Saves over `expected` only; http.conflict otherwise, with nothing changed. */
  savePlan(id: string, expected: number, plan: DraftPlan): Promise<number>;
  deletePlan(id: string): Promise<void>;
  revisions(id: string): Promise<RevisionRow[]>;
  revision(id: string, revision: number): Promise<{ revision: number; savedAt: string; plan: DraftPlan }>;
  place(id: string, revision: number): Promise<PlanPlace>;
  files(id: string): Promise<FileRow[]>;
  upload(id: string, name: string): Promise<Upload>;

  addRun(planId: string, planRevision: number, args: StartRunBody): Promise<StoredRun>;
  run(runId: string): Promise<StoredRun>;
  runs(planId: string): Promise<StoredRun[]>;
  /** Queued runs, oldest first. */
  queued(): Promise<StoredRun[]>;
  markRunning(runId: string): Promise<void>;
  finishRun(runId: string, finish: Finish): Promise<void>;
  /** Newest finished ranking of a plan, or of one revision of it. */
  latestRank(planId: string, revision?: number): Promise<StoredRun | null>;
  /** Step times of the newest finished run of the kind on the plan. */
  stepTimes(planId: string, kind: RunKind): Promise<{ step: string; seconds: number }[] | null>;
  result(runId: string): Promise<StoredResult>;
  answer(runId: string): Promise<RankAnswer | CoverAnswer>;
  close(): Promise<void>;
}
