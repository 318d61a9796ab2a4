import type { z } from "zod";
import type {
  buildingCollection,
  donorCollection,
  dropCollection,
  hazardCollection,
  hazardProperties,
  parkingCollection,
  pointCollection,
} from "./schema/features.ts";
import type { planSchema } from "./schema/plan.ts";
import type {
  antennaSchema,
  dishSchema,
  lteService,
  narrowbandService,
  serviceSchema,
  terminalSchema,
  unitSchema,
  wifiService,
} from "./schema/unit.ts";

/** A plan document as written: file names not yet replaced by what they hold, defaults not yet filled. */
export type Plan = z.infer<typeof planSchema>;
export type PointCollection = z.infer<typeof pointCollection>;
export type ParkingCollection = z.infer<typeof parkingCollection>;
export type HazardCollection = z.infer<typeof hazardCollection>;
export type BuildingCollection = z.infer<typeof buildingCollection>;
export type DropCollection = z.infer<typeof dropCollection>;
export type DonorCollection = z.infer<typeof donorCollection>;
export type HazardProperties = z.infer<typeof hazardProperties>;
export type Service = z.infer<typeof serviceSchema>;
export type LteService = z.infer<typeof lteService>;
export type WifiService = z.infer<typeof wifiService>;
export type NarrowbandService = z.infer<typeof narrowbandService>;
export type AntennaSpec = z.infer<typeof antennaSchema>;
export type Unit = z.infer<typeof unitSchema>;
export type Terminal = z.infer<typeof terminalSchema>;
export type DishSpec = z.infer<typeof dishSchema>;
export type Satellite = NonNullable<Plan["satellites"]>[number];
export type Need = Service["needs"][number];
export type Place = "outdoor" | "tent" | "vehicle" | "indoor-traditional" | "indoor-efficient";
export type Rung = "must" | "should" | "nice";
export type Season = "leaf-on" | "leaf-off";

/** A plan whose named GeoJSON files have been read: what computation takes. */
export interface LoadedPlan {
  plan: Plan;
  points: PointCollection;
  parking: ParkingCollection;
  hazards: HazardCollection;
  drops: DropCollection;
  donors: DonorCollection;
  buildings: BuildingCollection | null;
  /** File name (as the plan names it, or the plan file) → SHA-256, hex. */
  hashes: Record<string, string>;
  warnings: { code: string; text: string }[];
}
