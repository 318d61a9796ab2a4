import { z } from "zod";
import { quantity, relativeFile } from "./common.ts";

export const rasterEntry = z.union([
  relativeFile,
  z.strictObject({
    file: relativeFile,
    /** Vertical unit; overrides what the file says of itself. */
    unit: z.enum(["m", "ft", "us-ft"]).optional(),
    /** Vertical datum of the heights, when the file does not say. */
    verticalDatum: z.enum(["orthometric", "ellipsoid", "egm96", "egm2008", "navd88", "nap", "unknown"]).optional(),
    /** When the heights were measured (ISO date or year). */
    date: z.string().max(40).optional(),
    /** Standard deviation of one height, m: feeds the stability draws. */
    heightSdM: quantity("height standard deviation", "m", 0, 100).optional(),
  }),
]);

const rasters = z.array(rasterEntry).max(64, "at most 64 rasters of one kind");

export const terrainSchema = z
  .strictObject({
    ground: rasters.optional(),
    surface: rasters.optional(),
    canopy: rasters.optional(),
    landCover: z
      .strictObject({ files: z.array(relativeFile).min(1).max(64), scheme: z.enum(["nlcd", "fbfm40", "corine"]) })
      .optional(),
    buildings: relativeFile.optional(),
    /** Working cell; default: the finest raster's own cell, or coarser where the grid would be too large. */
    cellM: quantity("cell size", "m", 0.25, 200).optional(),
    /** How far the working grid reaches beyond the plan's features; default 200 m, or the rasters' edge. */
    marginM: quantity("margin around the plan", "m", 0, 50_000).optional(),
    /** Growth of trees since the canopy was measured. */
    canopyGrowthM: quantity("canopy growth", "m", 0, 10).optional(),
  })
  .refine((t) => (t.ground?.length ?? 0) + (t.surface?.length ?? 0) > 0, {
    message: "at least one ground or surface raster is needed",
    path: ["ground"],
  });
