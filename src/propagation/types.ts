import { z } from "zod";

/** Ground along a path as the Recommendations number it. */
export type Zone = "inland" | "coastal" | "sea";
export type Polarization = "horizontal" | "vertical";

/** Ids of the models `loss` answers for and the registry lists. */
export const LOSS_MODELS = [
  "p525",
  "p526",
  "p1812",
  "itm",
  "two-ray",
  "p452",
  "p833",
  "p2108",
  "p2109",
  "p838",
  "p676",
  "p453",
  "knife-edge",
] as const;
export type LossModel = (typeof LOSS_MODELS)[number];

const metres = (min: number, max: number) => z.number().min(min).max(max);

/**
 * One case of `loss`. Distances in km from the transmitter (first 0, rising), heights m AMSL of bare ground, clutter m above it.
 * Heights of antennas are above ground at the profile's ends.
 */
export const lossCaseSchema = z.strictObject({
  name: z.string().optional(),
  model: z.enum(LOSS_MODELS),
  frequencyMHz: z.number().min(1).max(1_000_000),
  distancesKm: z.array(z.number().min(0).max(1_000_000)).min(2).max(100_000).optional(),
  heightsM: z.array(metres(-500, 9000)).min(2).max(100_000).optional(),
  clutterM: z.array(metres(0, 1000)).max(100_000).optional(),
  zones: z
    .array(z.enum(["inland", "coastal", "sea"]))
    .max(100_000)
    .optional(),
  txHeightM: metres(0, 20_000).optional(),
  rxHeightM: metres(0, 20_000).optional(),
  distanceKm: z.number().positive().max(1_000_000).optional(),
  polarization: z.enum(["horizontal", "vertical"]).optional(),
  timePct: z.number().min(0.001).max(99.999).optional(),
  locationPct: z.number().min(0.001).max(99.999).optional(),
  locationSigmaDb: z.number().min(0).max(30).optional(),
  /** [longitude, latitude] degrees. */
  txLngLat: z.tuple([z.number(), z.number()]).optional(),
  rxLngLat: z.tuple([z.number(), z.number()]).optional(),
  /** Latitude of the path's middle, degrees, where the ends are not given. */
  latitudeDeg: z.number().min(-90).max(90).optional(),
  deltaN: z.number().min(-200).max(1000).optional(),
  n0: z.number().min(100).max(500).optional(),
  txCoastKm: z.number().min(0).max(10_000).optional(),
  rxCoastKm: z.number().min(0).max(10_000).optional(),
  effectiveRadiusKm: z.number().min(1000).max(1_000_000).optional(),
  seaFraction: z.number().min(0).max(1).optional(),
  reliabilityPct: z.number().min(0.01).max(99.99).optional(),
  confidencePct: z.number().min(0.01).max(99.99).optional(),
  situationPct: z.number().min(0.01).max(99.99).optional(),
  climate: z.number().int().min(1).max(7).optional(),
  permittivity: z.number().min(1).max(200).optional(),
  conductivitySPerM: z.number().min(0).max(100).optional(),
  /** Area mode of the irregular terrain model: terrain irregularity, m, and siting 0 random, 1 careful, 2 very careful. */
  terrainIrregularityM: z.number().min(0).max(2000).optional(),
  txSiting: z.number().int().min(0).max(2).optional(),
  rxSiting: z.number().int().min(0).max(2).optional(),
  mdvar: z.number().int().min(0).max(43).optional(),
  /** P.833: length inside vegetation, m. */
  vegetationM: z.number().min(0).max(100_000).optional(),
  leaf: z.enum(["leaf-on", "leaf-off"]).optional(),
  /** P.2108. */
  clutterType: z.number().int().min(1).max(6).optional(),
  clutterHeightM: metres(0, 500).optional(),
  streetWidthM: metres(0.1, 1000).optional(),
  section: z.enum(["3.1", "3.2", "3.3"]).optional(),
  elevationDeg: z.number().min(-90).max(90).optional(),
  /** P.2109. */
  buildingClass: z.enum(["traditional", "efficient"]).optional(),
  probabilityPct: z.number().min(0.0000001).max(99.9999999).optional(),
  /** P.838, P.676, P.453. */
  rainMmPerH: z.number().min(0).max(500).optional(),
  tiltDeg: z.number().min(-180).max(180).optional(),
  pressureHPa: z.number().min(0).max(1200).optional(),
  temperatureK: z.number().min(100).max(400).optional(),
  waterVapourGPerM3: z.number().min(0).max(100).optional(),
  /** Knife edge: ν directly. */
  nu: z.number().optional(),
});
export type LossCase = z.infer<typeof lossCaseSchema>;

export interface ModelWarning {
  code: string;
  text: string;
}

export interface LossResult {
  lossDb: number;
  /** Keyed by the Recommendation's own symbols. */
  parts: Record<string, number>;
  warnings: ModelWarning[];
}

/** One row of the registry. */
export interface ModelEntry {
  id: string;
  title: string;
  edition: string;
  source: string;
  validity: {
    frequencyMHz?: readonly [number, number];
    distanceKm?: readonly [number, number];
    heightM?: readonly [number, number];
    text: string;
  };
  verified: string;
  tolerance: string;
  /** Absent for models that are not a loss over a case (patterns, look angles). */
  evaluate?: (input: LossCase) => LossResult;
}
