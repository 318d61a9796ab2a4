import { z } from "zod";
import { draftPlanSchema } from "./draft.ts";
import { errorBody, lngLat, lookAnswer, maybe, modelsAnswer, REJECT_REASONS, warning } from "./outputs/index.ts";
import {
  buildingCollection,
  donorCollection,
  dropCollection,
  hazardCollection,
  parkingCollection,
  pointCollection,
} from "./schema/features.ts";

/**
 * Bodies of the HTTP service, one schema each: the service validates by them, the OpenAPI document is made from them, the
 * client takes its types from them. Instants are ISO 8601 in UTC. What a command prints (`rank`, `sky`, `path` …) keeps
 * its own schema in `outputs`.
 */

const instant = z.iso.datetime().meta({ description: "ISO 8601 instant, UTC" });
const identity = z.string().meta({ description: "short id" });
const revision = z.number().int().min(1).meta({ description: "counts up by one with every saved change" });

export const healthAnswer = z.strictObject({
  ok: z.boolean(),
  version: z.string(),
  /** A read and a write of the data folder have just succeeded. */
  readWriteOk: z.boolean(),
});

export const sampleRow = z.strictObject({ id: identity, name: z.string(), description: z.string() });
export const samplesAnswer = z.array(sampleRow);

export const sessionAnswer = z.strictObject({
  /** True when this service asks for a token. */
  tokenNeeded: z.boolean(),
  signedIn: z.boolean(),
});
export const loginBody = z.strictObject({ token: z.string().min(1).max(400) });

export const planRow = z.strictObject({
  id: identity,
  name: z.string(),
  revision,
  updatedAt: instant,
  points: z.number(),
  parkingAreas: z.number(),
});
export const plansAnswer = z.array(planRow);

export const createPlanBody = z.union([
  z.strictObject({ sample: identity }),
  z.strictObject({ plan: z.unknown() }),
  z.strictObject({ name: z.string().min(1, "the plan needs a name").max(200) }),
]);
export const savePlanBody = z.strictObject({ plan: z.unknown() });
export const createdPlan = z.strictObject({ id: identity, revision });
export const savedPlan = z.strictObject({ revision });

export const planAnswer = z.strictObject({
  id: identity,
  revision,
  updatedAt: instant,
  plan: draftPlanSchema,
  points: pointCollection,
  parking: parkingCollection,
  hazards: hazardCollection,
  drops: dropCollection,
  donors: donorCollection,
  buildings: buildingCollection.nullable(),
  warnings: z.array(warning),
  /** What keeps the plan from being run; empty when it can be. */
  problems: z.array(errorBody),
  /** The newest finished ranking, of whatever revision. */
  latestRun: maybe(identity),
  latestRunRevision: maybe(revision),
});

export const revisionRow = z.strictObject({ revision, savedAt: instant, sha256: z.string() });
export const revisionsAnswer = z.array(revisionRow);
export const revisionAnswer = z.strictObject({ revision, savedAt: instant, plan: draftPlanSchema });

export const DATASET_KINDS = ["ground", "surface", "canopy", "buildings", "landCover"] as const;
export const dataset = z.strictObject({
  kind: z.enum(DATASET_KINDS),
  file: z.string(),
  /** Cell of the file itself, m; null where it has none (buildings) or it is not known. */
  cellM: maybe(z.number()),
  date: maybe(z.string()),
  verticalDatum: z.string(),
  text: z.string(),
});
export const groundAnswer = z.strictObject({
  /** West, south, east, north, degrees. */
  bounds: z.tuple([z.number(), z.number(), z.number(), z.number()]),
  origin: z.strictObject(lngLat),
  grid: z.strictObject({
    cols: z.number(),
    rows: z.number(),
    cellM: z.number(),
    westM: z.number(),
    northM: z.number(),
  }),
  /** Lowest and highest ground, m AMSL; null when no ground is known. */
  minM: maybe(z.number()),
  maxM: maybe(z.number()),
  minZoom: z.number().int(),
  maxZoom: z.number().int(),
  contourStepM: z.number(),
  datasets: z.array(dataset),
  hasCanopy: z.boolean(),
  hasSurface: z.boolean(),
  warnings: z.array(warning),
});

/** Answer 202 while a plan's ground is being built; ask again after Retry-After. */
export const buildingAnswer = z.strictObject({
  state: z.literal("building"),
  step: z.string(),
  done: z.number(),
  total: z.number(),
});

const position = z.array(z.number());
export const contourCollection = z.strictObject({
  type: z.literal("FeatureCollection"),
  features: z.array(
    z.strictObject({
      type: z.literal("Feature"),
      geometry: z.strictObject({ type: z.literal("LineString"), coordinates: z.array(position) }),
      properties: z.strictObject({ heightM: z.number(), major: z.boolean() }),
    }),
  ),
});
export const canopyCollection = z.strictObject({
  type: z.literal("FeatureCollection"),
  features: z.array(
    z.strictObject({
      type: z.literal("Feature"),
      geometry: z.strictObject({ type: z.literal("Polygon"), coordinates: z.array(z.array(position)) }),
      properties: z.strictObject({ leastHeightM: z.number() }),
    }),
  ),
});

export const RUN_KINDS = ["rank", "cover"] as const;
export const RUN_STATES = ["queued", "running", "done", "cancelled", "failed"] as const;
export const COVER_WHATS = ["loss", "level", "probability", "visible"] as const;

export const longitude = z.number().min(-180, "longitude is at least −180°").max(180, "longitude is at most 180°");
export const latitude = z.number().min(-90, "latitude is at least −90°").max(90, "latitude is at most 90°");

export const startRunBody = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("rank") }),
  z.strictObject({
    kind: z.literal("cover"),
    lng: longitude,
    lat: latitude,
    service: identity,
    /** `service/need` or the need's own id. */
    need: z.string().optional(),
    what: z.enum(COVER_WHATS),
    radiusM: z.number().positive("a radius is more than 0 m").max(200_000, "a radius is at most 200 000 m").optional(),
  }),
]);
export const startedRun = z.strictObject({ runId: identity });

export const runStatus = z.strictObject({
  runId: identity,
  kind: z.enum(RUN_KINDS),
  state: z.enum(RUN_STATES),
  /** Name of the step at work; empty before the first. */
  step: z.string(),
  /** Counts from 0, so that the first step reads "step 1 of stepCount". */
  stepIndex: z.number().int().min(0),
  stepCount: z.number().int().min(0),
  done: z.number(),
  total: z.number(),
  /** Null until it can be told. */
  secondsLeft: maybe(z.number()),
  error: maybe(errorBody),
  planId: identity,
  planRevision: revision,
  /** True when a result can be fetched: always once done; after a cancel only if something was complete. */
  hasResult: z.boolean(),
});

export const runRow = z.strictObject({
  runId: identity,
  kind: z.enum(RUN_KINDS),
  state: z.enum(RUN_STATES),
  planRevision: revision,
  createdAt: instant,
  finishedAt: maybe(instant),
  /** One line: what came out, or why nothing did. */
  summary: z.string(),
});
export const runsAnswer = z.array(runRow);

export const THEMES = ["day", "night"] as const;
export const legendAnswer = z.strictObject({
  title: z.string(),
  unit: z.string(),
  classes: z.array(
    z.strictObject({
      /** Lower edge, included; null = open below. */
      from: maybe(z.number()),
      /** Upper edge, not included; null = open above. */
      to: maybe(z.number()),
      color: z.string(),
      label: z.string(),
    }),
  ),
  patterns: z.array(
    z.strictObject({ reason: z.enum([...REJECT_REASONS, "unknown"]), label: z.string(), svg: z.string() }),
  ),
});

export const fileRow = z.strictObject({
  name: z.string(),
  bytes: z.number(),
  modifiedAt: instant,
});
export const filesAnswer = z.array(fileRow);
export const uploadedFile = z.strictObject({
  name: z.string(),
  bytes: z.number(),
  sha256: z.string(),
  /** Revision of the plan after the upload: one higher when a file was replaced. */
  revision,
});

export { lookAnswer, modelsAnswer };

export type HealthAnswer = z.infer<typeof healthAnswer>;
export type SampleRow = z.infer<typeof sampleRow>;
export type SessionAnswer = z.infer<typeof sessionAnswer>;
export type PlanRow = z.infer<typeof planRow>;
export type CreatePlanBody = z.infer<typeof createPlanBody>;
export type PlanAnswer = z.infer<typeof planAnswer>;
export type RevisionRow = z.infer<typeof revisionRow>;
export type Dataset = z.infer<typeof dataset>;
export type GroundAnswer = z.infer<typeof groundAnswer>;
export type BuildingAnswer = z.infer<typeof buildingAnswer>;
export type ContourCollection = z.infer<typeof contourCollection>;
export type CanopyCollection = z.infer<typeof canopyCollection>;
export type RunKind = (typeof RUN_KINDS)[number];
export type RunState = (typeof RUN_STATES)[number];
export type CoverWhat = (typeof COVER_WHATS)[number];
export type StartRunBody = z.infer<typeof startRunBody>;
export type RunStatus = z.infer<typeof runStatus>;
export type RunRow = z.infer<typeof runRow>;
export type Theme = (typeof THEMES)[number];
export type LegendAnswer = z.infer<typeof legendAnswer>;
export type FileRow = z.infer<typeof fileRow>;
export type UploadedFile = z.infer<typeof uploadedFile>;
