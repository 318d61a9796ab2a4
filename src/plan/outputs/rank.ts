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

/** What one demand gets from the units of a layout. */
export const layoutNeed = z.strictObject({
  id: z.string(),
  need: z.string(),
  rung: z.enum(["must", "should", "nice"]),
  kind: z.enum(["point", "area", "route"]),
  target: z.number(),
  /** Best probability 0…1 on a point, share of tiles any unit serves on an area or route; unknown counts nothing. */
  share: z.number(),
  /** Share of tiles at least two units serve; on a point 1 when two reach the target. */
  twoShare: z.number(),
  met: maybe(z.boolean()),
  /** The same share from each unit alone, in the layout's order. */
  byUnit: z.array(z.number()),
  /** Per tile (one entry for a point): the units that serve it, bit u for the layout's spot u. Nothing is capped. */
  servedBy: z.array(z.number()),
});

/** Several units chosen together. */
export const layout = z.strictObject({
  spots: z.array(z.string()),
  score: z.number(),
  /** Tightest proven limit on the score of any layout that serves as many musts. */
  bound: z.number(),
  gapPct: z.number(),
  method: z.enum(["exact", "greedy-exchange"]),
  greedyScore: z.number(),
  servedByOnePct: z.number(),
  servedByTwoPct: z.number(),
  lost: z.array(
    z.strictObject({
      spot: z.string(),
      score: z.number(),
      mustsShort: z.number(),
      /** Where the best single move of a unit that is left goes; null when no move helps. */
      replacement: maybe(z.string()),
      moved: maybe(z.string()).optional(),
      movedScore: maybe(z.number()).optional(),
      movedMustsShort: maybe(z.number()).optional(),
    }),
  ),
  unitCount: z.number().optional(),
  candidates: z.number().optional(),
  mustsShort: z.number().optional(),
  mustsUnknown: z.number().optional(),
  /** Limit by the project's own search or bound, and by the solver where one was asked. */
  ownBound: z.number().optional(),
  solverBound: maybe(z.number()).optional(),
  solverStatus: z.enum(["optimal", "infeasible", "stopped", "fault", "not-asked"]).optional(),
  needs: z.array(layoutNeed).optional(),
  reasons: z.array(z.string()).optional(),
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
  /** The layout of the units asked for; where it leaves musts short, the smallest that serves them all as well. */
  layouts: z.array(layout).optional(),
  /** Fewest units that serve every must; units is null when that is not settled or no number is enough. */
  minimumUnits: z
    .strictObject({ units: maybe(z.number()), atLeast: maybe(z.number()), spots: z.array(z.string()) })
    .optional(),
  objectives: z
    .array(
      z.strictObject({
        id: z.string().optional(),
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
