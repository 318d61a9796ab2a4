import { z } from "zod";
import { check, lngLat, maybe, provenance, warning } from "./common.ts";
import { satelliteView } from "./sky.ts";

export const DECIDED_BY = [
  "first",
  "stand",
  "musts",
  "unknown-musts",
  "score",
  "redundancy",
  "backhaul",
  "clearance",
  "access",
  "order",
] as const;
export const REJECT_REASONS = [
  "footprint",
  "slope",
  "keep-out",
  "water",
  "obstacle",
  "power-line",
  "crowd",
  "opening",
  "sky",
] as const;

/** What one spot does for one (point, need). On an area: share of tiles served, and the median tile's margin and loss. */
export const pointResult = z.strictObject({
  id: z.string(),
  name: z.string(),
  code: z.string(),
  rung: z.enum(["must", "should", "nice"]),
  need: z.string(),
  service: z.string(),
  terminal: z.string(),
  place: z.string(),
  kind: z.enum(["point", "area", "route"]),
  /** P(service) 0…1 for a point, share of tiles served for an area; null = unknown. */
  probability: maybe(z.number()),
  target: z.number(),
  met: maybe(z.boolean()),
  weight: z.number(),
  marginDb: maybe(z.number()),
  /** dB missing to the target; 0 when met. */
  shortDb: maybe(z.number()),
  limitingDirection: maybe(z.enum(["downlink", "uplink"])),
  lossDb: maybe(z.number()),
  model: z.string(),
  lineOfSight: maybe(z.boolean()),
  fresnelRatio: maybe(z.number()),
  distanceM: z.number(),
  unknownShare: z.number(),
  /** What stands most in the way, in words; empty when nothing does. */
  obstruction: z.string(),
  tiles: z
    .strictObject({
      count: z.number(),
      served: z.number(),
      sideM: z.number(),
      worstProbability: maybe(z.number()),
      worstLng: z.number(),
      worstLat: z.number(),
    })
    .nullable(),
  indicative: z.boolean(),
});

export const backhaulResult = z.strictObject({
  kind: z.enum(["ethernet", "donor", "satellite", "none"]),
  status: z.enum(["pass", "unknown", "fail"]),
  text: z.string(),
});

export const spot = z.strictObject({
  rank: z.number(),
  id: z.string(),
  name: z.string(),
  role: z.enum(["primary", "alternate", "contingency", "emergency", "none"]),
  ...lngLat,
  usng: z.string(),
  groundAmslM: maybe(z.number()),
  headingDeg: maybe(z.number()),
  parking: z.string(),
  score: z.number(),
  /** What screening gave the same cell. */
  screenedScore: z.number(),
  feasible: z.boolean(),
  tied: z.boolean(),
  decidedBy: z.enum(DECIDED_BY),
  mustsShort: z.number(),
  mustsUnknown: z.number(),
  mustShortDb: z.number(),
  checks: z.array(check),
  points: z.array(pointResult),
  satellites: z.array(satelliteView),
  backhaul: z.array(backhaulResult),
  reasons: z.array(z.string()),
  stabilityPct: maybe(z.number()),
  topThreePct: maybe(z.number()).optional(),
  scoreRange: z.tuple([z.number(), z.number()]).nullable().optional(),
});

export const nearestMiss = z.strictObject({
  ...lngLat,
  usng: z.string(),
  score: z.number(),
  text: z.string(),
  fixes: z.array(z.strictObject({ text: z.string(), amount: z.number(), unit: z.string() })),
});

/** Several units chosen together. */
export const layout = z.strictObject({
  spots: z.array(z.string()),
  score: z.number(),
  bound: z.number(),
  gapPct: z.number(),
  method: z.enum(["exact", "greedy-exchange"]),
  greedyScore: z.number(),
  servedByOnePct: z.number(),
  servedByTwoPct: z.number(),
  lost: z.array(
    z.strictObject({ spot: z.string(), score: z.number(), mustsShort: z.number(), replacement: maybe(z.string()) }),
  ),
});

export const rankAnswer = z.strictObject({
  plan: z.string(),
  spots: z.array(spot),
  feasibleCount: z.number(),
  parking: z.strictObject({
    totalHectares: z.number(),
    usableHectares: z.number(),
    cells: z.number(),
    cellM: z.number(),
  }),
  rejected: z.array(z.strictObject({ reason: z.enum(REJECT_REASONS), hectares: z.number() })),
  nearestMisses: z.array(nearestMiss),
  layouts: z.array(layout).optional(),
  objectives: z
    .array(
      z.strictObject({
        area: z.string(),
        need: z.string(),
        sharePct: z.number(),
        unitsLost: z.number(),
        foundPct: maybe(z.number()),
        met: maybe(z.boolean()),
      }),
    )
    .optional(),
  screening: z.strictObject({
    /** 99th percentile of |screened − refined| score on this plan. */
    deltaScore: z.number(),
    refinedCells: z.number(),
    sweeps: z.number(),
    direction: z.enum(["from-points", "from-spots"]),
  }),
  warnings: z.array(warning),
  cautions: z.array(z.string()),
  provenance,
});

/** Any one cell of the suitability surface opened as its full evaluation. */
export const cellAnswer = z.strictObject({
  ...lngLat,
  usng: z.string(),
  inParking: z.boolean(),
  screenedScore: maybe(z.number()),
  reason: z.enum(REJECT_REASONS).nullable(),
  reasonText: z.string(),
  spot: spot.nullable(),
});

/** `cover --json`. */
export const coverAnswer = z.strictObject({
  what: z.enum(["loss", "level", "probability", "visible"]),
  service: z.string(),
  need: maybe(z.string()),
  ...lngLat,
  radiusM: z.number(),
  cellM: z.number(),
  cols: z.number(),
  rows: z.number(),
  unit: z.string(),
  min: maybe(z.number()),
  max: maybe(z.number()),
  mean: maybe(z.number()),
  knownShare: z.number(),
  areas: z.array(
    z.strictObject({
      id: z.string(),
      name: z.string(),
      sharePct: maybe(z.number()),
      threshold: z.number(),
      cells: z.number(),
    }),
  ),
  file: maybe(z.string()),
  warnings: z.array(warning),
  provenance,
});
