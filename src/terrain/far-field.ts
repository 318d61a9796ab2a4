import type { LocalFrame } from "../geodesy/types.ts";
import { type Box, gridOver, unionBox } from "./extent.ts";
import type { RasterHandle } from "./raster.ts";
import { mosaic } from "./reproject.ts";
import type { Grid } from "./scene.ts";
import type { WorkHooks } from "./shared.ts";

/** How far the coarse ground reaches beyond the working grid, m. */
export const FAR_REACH_M = 30_000;
const FAR_CELL_M = 30;
const FAR_CELL_MOST_M = 90;
const FAR_CELLS = 4_000_000;

/**
 * Coarse ground round the working grid for horizons and long links: the greatest height in each cell, so that coarsening
 * can only raise a horizon. 30 km each way as far as there are rasters; cells of 30 m (or the grid's own, if coarser)
 * up to 90 m, so that it holds at most four million of them.
 * @returns null when the rasters reach no further than the grid
 */
export async function farField(
  grid: Grid,
  frame: LocalFrame,
  rasters: readonly RasterHandle[],
  hooks: WorkHooks,
): Promise<{ grid: Grid; groundM: Float32Array } | null> {
  const there = unionBox(frame, rasters);
  if (there === null) return null;
  const near: Box = {
    west: grid.westM,
    north: grid.northM,
    east: grid.westM + grid.cols * grid.cellM,
    south: grid.northM - grid.rows * grid.cellM,
  };
  const box: Box = {
    west: Math.max(there.west, near.west - FAR_REACH_M),
    east: Math.min(there.east, near.east + FAR_REACH_M),
    south: Math.max(there.south, near.south - FAR_REACH_M),
    north: Math.min(there.north, near.north + FAR_REACH_M),
  };
  const least = Math.max(grid.cellM, FAR_CELL_M);
  const beyond = Math.max(near.west - box.west, box.east - near.east, near.south - box.south, box.north - near.north);
  if (beyond < 2 * least) return null;
  const area = (box.east - box.west) * (box.north - box.south);
  const cellM = Math.max(least, Math.min(Math.max(FAR_CELL_MOST_M, least), Math.ceil(Math.sqrt(area / FAR_CELLS))));
  const far = gridOver(box, cellM);
  const { heightsM, filled } = await mosaic(far, frame, rasters, "greatest", hooks);
  return filled === 0 ? null : { grid: far, groundM: heightsM };
}
