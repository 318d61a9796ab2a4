import { z } from "zod";
import { lngLat, maybe, warning } from "./common.ts";

const direction = z.enum(["downlink", "uplink"]);

/** One line of a link budget: a named term in dB (or dBm), with where it comes from. */
export const budgetTerm = z.strictObject({ name: z.string(), value: z.number(), unit: z.string(), source: z.string() });

export const directionBudget = z.strictObject({
  direction,
  terms: z.array(budgetTerm),
  /** Level at the receiver (RSRP for LTE downlink), dBm. */
  levelDbm: z.number(),
  sinrDb: maybe(z.number()),
  rateMbps: maybe(z.number()),
  /** Largest path loss that still meets the need, dB. */
  maplDb: z.number(),
  marginDb: z.number(),
  resourceBlocks: maybe(z.number()),
});

export const needBudget = z.strictObject({
  need: z.string(),
  name: z.string(),
  downlink: directionBudget,
  uplink: directionBudget.nullable(),
  limitingDirection: direction,
  marginDb: z.number(),
  probability: z.number(),
  sigmaDb: z.number(),
  sigmaLocationDb: z.number(),
  sigmaModelDb: z.number(),
});

export const obstruction = z.strictObject({
  distanceM: z.number(),
  heightAmslM: z.number(),
  /** Height above the direct line, m (negative = below). */
  aboveLineM: z.number(),
  kind: z.enum(["terrain", "building", "tree", "surface"]),
  id: maybe(z.string()),
  name: z.string(),
});

/** `path --json`: one profile, its clearance, loss by part and the budget both ways. */
export const pathAnswer = z.strictObject({
  from: z.strictObject({
    ...lngLat,
    groundAmslM: maybe(z.number()),
    antennaAmslM: maybe(z.number()),
    heightM: z.number(),
  }),
  to: z.strictObject({
    ...lngLat,
    groundAmslM: maybe(z.number()),
    antennaAmslM: maybe(z.number()),
    heightM: z.number(),
  }),
  service: z.string(),
  terminal: z.string(),
  frequencyMHz: z.number(),
  distanceM: z.number(),
  bearingDeg: z.number(),
  k: z.number(),
  /** Arrays of equal length along the path. Heights m AMSL; null where there are no data. */
  distancesM: z.array(z.number()),
  groundM: z.array(maybe(z.number())),
  surfaceM: z.array(maybe(z.number())),
  canopyTopM: z.array(maybe(z.number())),
  /** Direct ray less Earth bulge, so that straight comparison with heights is right, m AMSL. */
  lineM: z.array(maybe(z.number())),
  fresnelRadiusM: z.array(z.number()),
  clearanceM: z.array(maybe(z.number())),
  lineOfSight: maybe(z.boolean()),
  /** Least clearance over first Fresnel radius; negative = blocked. */
  fresnelRatio: maybe(z.number()),
  unknownShare: z.number(),
  firstObstruction: maybe(obstruction),
  worstObstruction: maybe(obstruction),
  model: z.string(),
  lossDb: maybe(z.number()),
  parts: z.record(z.string(), z.number()),
  vegetation: maybe(z.strictObject({ lengthM: z.number(), lossDb: z.number(), route: z.enum(["through", "over"]) })),
  secondOpinion: maybe(
    z.strictObject({ model: z.string(), lossDb: z.number(), differenceDb: z.number(), caution: z.boolean() }),
  ),
  twoRayLossDb: maybe(z.number()),
  budgets: z.array(needBudget),
  warnings: z.array(warning),
});

/** One answer of `loss`. */
export const lossAnswer = z.strictObject({
  model: z.string(),
  edition: z.string(),
  lossDb: z.number(),
  parts: z.record(z.string(), z.number()),
  warnings: z.array(warning),
});
export const lossAnswers = z.union([lossAnswer, z.array(lossAnswer)]);

export const modelRow = z.strictObject({
  id: z.string(),
  title: z.string(),
  edition: z.string(),
  source: z.string(),
  validity: z.string(),
  verified: z.string(),
  tolerance: z.string(),
});
export const modelsAnswer = z.array(modelRow);
