import type { LngLat } from "../geodesy/types.ts";

/**
 * A raster that has come in: decoded once, heights in metres, void as NaN, half-pixel, south-up, unit, scale, mask and
 * nodata all settled. Column and row are fractional; whole numbers are cell centres; row 0 is the northernmost as stored
 * after settling. Implementations live where files may be opened; computation sees only this.
 */
export interface RasterHandle {
  /** Name as the plan gives it. */
  readonly file: string;
  readonly sha256: string;
  readonly width: number;
  readonly height: number;
  /** "EPSG:n" or null for a definition without a code. */
  readonly crs: string | null;
  readonly crsVerified: boolean;
  /** Ground cell size at the raster's centre, metres along columns and rows. */
  readonly cellM: readonly [number, number];
  /** West, south, east, north. */
  readonly bounds: readonly [number, number, number, number];
  readonly verticalDatum: string;
  readonly date: string | null;
  readonly heightSdM: number | null;
  readonly warnings: readonly { code: string; text: string }[];
  /** Maximum-pooled reductions available beside the full raster: factor 2, 4, 8 … */
  readonly overviewFactors: readonly number[];
  toRaster(place: LngLat): { col: number; row: number };
  toLngLat(col: number, row: number): LngLat;
  /**
   * Heights of a window, row-major, metres, NaN where void or outside the raster.
   * With `overviewFactor` f the window is in cells of f × f full cells, each the maximum of its valid members.
   */
  read(col: number, row: number, cols: number, rows: number, overviewFactor?: number): Promise<Float32Array>;
}
