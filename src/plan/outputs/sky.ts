import { z } from "zod";
import { lngLat, maybe, warning } from "./common.ts";

/** One row of `look --json`. */
export const lookRow = z.strictObject({
  satelliteDeg: z.number(),
  azimuthDeg: z.number(),
  azimuthMagneticDeg: z.number(),
  declinationDeg: z.number(),
  /** Geometric elevation, degrees. */
  elevationDeg: z.number(),
  elevationRefractedDeg: z.number(),
  /** Positive clockwise seen from behind the dish looking at the satellite, in (−90, 90]. */
  skewDeg: z.number(),
  rangeKm: z.number(),
  delayMs: z.number(),
  visible: z.boolean(),
});
export const lookAnswer = z.array(lookRow);

export const blocker = z.strictObject({
  kind: z.enum(["building", "tree", "terrain", "surface", "obstacle", "measured-horizon", "data-edge"]),
  /** Building or obstacle id; null for trees and ground. */
  id: maybe(z.string()),
  name: z.string(),
  distanceM: z.number(),
  azimuthDeg: z.number(),
  /** Top of the blocking object, m AMSL; null for a measured horizon. */
  topAmslM: maybe(z.number()),
  /** By how much it stands into the tube, m (positive = inside). */
  intrusionM: z.number(),
});

export const advice = z.strictObject({
  kind: z.enum(["move", "lift", "roof", "leaf-off", "none"]),
  text: z.string(),
  eastM: z.number().optional(),
  northM: z.number().optional(),
  distanceM: z.number().optional(),
  azimuthDeg: z.number().optional(),
  liftM: z.number().optional(),
  buildingId: z.string().optional(),
  ...{ lng: lngLat.lng.optional(), lat: lngLat.lat.optional() },
});

/** A satellite as seen from one spot; `clear` null = unknown. */
export const satelliteView = z.strictObject({
  id: z.string(),
  satelliteDeg: z.number(),
  role: z.enum(["primary", "alternate"]),
  azimuthDeg: z.number(),
  azimuthMagneticDeg: z.number(),
  elevationDeg: z.number(),
  elevationRefractedDeg: z.number(),
  skewDeg: z.number(),
  rangeKm: z.number(),
  /** Largest margin for which the tube is free, degrees; minus the elevation needed where the ray itself is blocked; null = unknown. */
  clearanceDeg: maybe(z.number()),
  /** The same against trees alone, with their own margin; null when there is no canopy or it is unknown. */
  treeClearanceDeg: maybe(z.number()),
  neededDeg: z.number(),
  neededTreeDeg: z.number(),
  clear: maybe(z.boolean()),
  opensLeafOff: z.boolean(),
  blockedBy: maybe(blocker),
  advice: z.array(advice),
  notes: z.array(z.string()),
});

export const horizonSample = z.strictObject({
  azimuthDeg: z.number(),
  /** Highest elevation of anything solid, degrees; null where the data end. */
  elevationDeg: maybe(z.number()),
  terrainDeg: maybe(z.number()),
  buildingDeg: maybe(z.number()),
  treeDeg: maybe(z.number()),
  kind: z.enum(["terrain", "building", "tree", "surface", "unknown", "measured"]),
  id: maybe(z.string()),
  distanceM: maybe(z.number()),
});

/** `sky --json`. */
export const skyAnswer = z.strictObject({
  ...lngLat,
  groundAmslM: maybe(z.number()),
  eyeHeightM: z.number(),
  eyeAmslM: maybe(z.number()),
  onBuilding: maybe(z.string()),
  declinationDeg: z.number(),
  declinationModel: z.string(),
  date: z.string(),
  k: z.number(),
  satellites: z.array(satelliteView),
  horizon: z.array(horizonSample),
  /** The geostationary arc as seen from the spot. */
  arc: z.array(z.strictObject({ satelliteDeg: z.number(), azimuthDeg: z.number(), elevationDeg: z.number() })),
  cautions: z.array(z.string()),
  warnings: z.array(warning),
});
