import { z } from "zod";
import { maybe, warning } from "./common.ts";

/** `terrain --json`: what a raster is. */
export const terrainAnswer = z.strictObject({
  file: z.string(),
  kind: z.enum(["elevation", "surface", "canopy", "land-cover", "not-elevation", "unknown"]),
  format: z.enum(["geotiff", "hgt"]),
  /** EPSG code as "EPSG:n" (compound "EPSG:a+b"), or a name; null when there is none. */
  crs: maybe(z.string()),
  crsName: z.string(),
  crsVerified: z.boolean(),
  width: z.number(),
  height: z.number(),
  /** Cell size in CRS units; dy is negative for north-up. */
  cell: z.tuple([z.number(), z.number()]),
  cellM: z.tuple([z.number(), z.number()]),
  /** Vertical unit the file's numbers are in; values below are converted to metres. */
  unit: z.enum(["m", "ft", "us-ft", "unknown"]),
  unitSource: z.enum(["declared", "assumed", "unknown"]),
  verticalDatum: z.string(),
  verticalDatumSource: z.enum(["declared", "assumed", "unknown"]),
  encoding: z.string(),
  pixelIsPoint: z.boolean(),
  overviews: z.number(),
  nodata: maybe(z.number()).or(z.literal("nan")),
  min: maybe(z.number()),
  max: maybe(z.number()),
  mean: maybe(z.number()),
  validShare: z.number(),
  /** Longitude and latitude: west, south, east, north. */
  bounds: z.tuple([z.number(), z.number(), z.number(), z.number()]),
  sha256: z.string(),
  samples: z.array(z.strictObject({ lng: z.number(), lat: z.number(), heightM: maybe(z.number()) })).optional(),
  warnings: z.array(warning),
});
