import type { LocalFrame } from "../geodesy/types.ts";
import type { LoadedPlan } from "../plan/types.ts";
import { coverHeights } from "./land-cover.ts";
import { settleCanopy } from "./layers.ts";
import type { RasterHandle } from "./raster.ts";
import { mosaic } from "./reproject.ts";
import type { Grid, SceneWarning } from "./scene.ts";
import type { WorkHooks } from "./shared.ts";

export interface Cover {
  /** Vegetation above ground as measured, or as the land cover represents it; null when neither is known. */
  canopyM: Float32Array | null;
  /** Height of houses above ground by land cover; null where a surface shows them or there is no land cover. */
  housesM: Float32Array | null;
  warnings: SceneWarning[];
}

/**
 * What covers the ground: the canopy raster where there is one; land cover stands in for what neither surface nor canopy shows.
 * @param hasSurface  a surface raster shows houses and trees: land cover adds nothing then
 */
export async function readCover(
  loaded: LoadedPlan,
  rasters: { canopy: readonly RasterHandle[]; landCover?: readonly RasterHandle[] },
  grid: Grid,
  frame: LocalFrame,
  hasSurface: boolean,
  hooks: WorkHooks,
): Promise<Cover> {
  const warnings: SceneWarning[] = [];
  let canopyM: Float32Array | null = null;
  if (rasters.canopy.length > 0) {
    canopyM = (await mosaic(grid, frame, rasters.canopy, "greatest", hooks)).heightsM;
    warnings.push(...settleCanopy(canopyM, rasters.canopy.map((r) => r.file).join(", ")));
  }
  const scheme = loaded.plan.terrain.landCover?.scheme;
  const classes = rasters.landCover ?? [];
  if (scheme === undefined || hasSurface) return { canopyM, housesM: null, warnings };
  if (classes.length === 0) {
    warnings.push({ code: "terrain.land-cover-unread", text: "The plan names land cover, but it was not read." });
    return { canopyM, housesM: null, warnings };
  }
  const codes = (await mosaic(grid, frame, classes, "class", hooks)).heightsM;
  const heights = coverHeights(codes, grid, scheme);
  return {
    canopyM: canopyM ?? heights.treesM,
    housesM: heights.housesM,
    warnings: [...warnings, ...heights.warnings],
  };
}
