import type { FeatureCollection } from "geojson";
import type { ErrorBody } from "../src/errors/index.ts";
import type {
  BuildingCollection,
  DonorCollection,
  DropCollection,
  HazardCollection,
  ParkingCollection,
  Plan,
  PointCollection,
} from "../src/plan/types.ts";

/** What the service answers besides the command-line outputs of src/plan/outputs. */
export interface Health {
  ok: boolean;
  version: string;
}
export interface Sample {
  id: string;
  name: string;
  description: string;
}
export interface PlanRow {
  id: string;
  name: string;
  revision: number;
  updatedAt: string;
  points: number;
  parkingAreas: number;
}
export interface Said {
  code: string;
  text: string;
}
export interface PlanAnswer {
  id: string;
  revision: number;
  updatedAt: string;
  plan: Plan;
  points: PointCollection;
  parking: ParkingCollection;
  hazards: HazardCollection;
  drops: DropCollection;
  donors: DonorCollection;
  buildings: BuildingCollection | null;
  warnings: Said[];
  latestRun: string | null;
  latestRunRevision: number | null;
}
export type DatasetKind = "ground" | "surface" | "canopy" | "buildings" | "landCover";
export interface Dataset {
  kind: DatasetKind;
  file: string;
  cellM: number | null;
  date: string | null;
  verticalDatum: string | null;
  text: string;
}
export interface Ground {
  /** West, south, east, north, degrees. */
  bounds: [number, number, number, number];
  origin: { lng: number; lat: number };
  grid: { cols: number; rows: number; cellM: number; westM: number; northM: number };
  minM: number;
  maxM: number;
  minZoom: number;
  maxZoom: number;
  contourStepM: number;
  datasets: Dataset[];
  hasCanopy: boolean;
  hasSurface: boolean;
  warnings: Said[];
}
export type RunState = "queued" | "running" | "done" | "cancelled" | "failed";
export interface Run {
  runId: string;
  kind: "rank" | "cover";
  state: RunState;
  step: string;
  stepIndex: number;
  stepCount: number;
  done: number;
  total: number;
  secondsLeft: number | null;
  error: ErrorBody | null;
  planId: string;
  planRevision: number;
}
export interface RunRow {
  runId: string;
  kind: "rank" | "cover";
  state: RunState;
  planRevision: number;
  createdAt: string;
  finishedAt: string | null;
  summary: unknown;
}
export interface LegendClass {
  from: number | null;
  to: number | null;
  color: string;
  label: string;
}
export interface LegendPattern {
  reason: string;
  label: string;
  svg: string;
}
export interface Legend {
  title: string;
  unit: string;
  classes: LegendClass[];
  patterns: LegendPattern[];
}
export type Features = FeatureCollection;
