import type { LngLat } from "../../src/geodesy/types.ts";
import type { RasterHandle } from "../../src/terrain/raster.ts";
import { type RasterGeometry, rasterGeometry } from "../../src/terrain/reader/geometry.ts";
import { type CacheReader, DamagedCache } from "./cache-reader.ts";

export interface HandleParts {
  file: string;
  sha256: string;
  reader: CacheReader;
  warnings: { code: string; text: string }[];
  date: string | null;
  heightSdM: number | null;
  /** Builds the cache file again and opens it. */
  rebuild: () => Promise<CacheReader>;
}

/** A cached raster as computation sees it. */
export class CachedRaster implements RasterHandle {
  readonly file: string;
  readonly sha256: string;
  readonly width: number;
  readonly height: number;
  readonly crs: string | null;
  readonly crsVerified: boolean;
  readonly cellM: readonly [number, number];
  readonly bounds: readonly [number, number, number, number];
  readonly verticalDatum: string;
  readonly date: string | null;
  readonly heightSdM: number | null;
  readonly warnings: readonly { code: string; text: string }[];
  readonly overviewFactors: readonly number[];
  private readonly geometry: RasterGeometry;
  private reader: CacheReader;
  private readonly rebuild: () => Promise<CacheReader>;

  constructor(parts: HandleParts) {
    const { meta } = parts.reader;
    this.file = parts.file;
    this.sha256 = parts.sha256;
    this.width = meta.width;
    this.height = meta.height;
    this.crs = meta.crs.code;
    this.crsVerified = meta.crs.verified;
    this.geometry = rasterGeometry(meta.placement, meta.crs, meta.width, meta.height);
    this.cellM = this.geometry.cellM;
    this.bounds = this.geometry.bounds;
    this.verticalDatum = meta.head.vertical.datum;
    this.date = parts.date ?? meta.head.date;
    this.heightSdM = parts.heightSdM;
    this.warnings = parts.warnings;
    this.overviewFactors = meta.levels.slice(1).map((l) => l.factor);
    this.reader = parts.reader;
    this.rebuild = parts.rebuild;
  }

  toRaster(place: LngLat): { col: number; row: number } {
    return this.geometry.toRaster(place);
  }

  toLngLat(col: number, row: number): LngLat {
    return this.geometry.toLngLat(col, row);
  }

  async read(col: number, row: number, cols: number, rows: number, overviewFactor = 1): Promise<Float32Array> {
    if (![col, row, cols, rows].every(Number.isInteger) || cols < 0 || rows < 0)
      throw new RangeError(`a window needs whole numbers, got ${col}, ${row}, ${cols} × ${rows}`);
    let got: Float32Array | null;
    try {
      got = await this.reader.window(col, row, cols, rows, overviewFactor);
    } catch (error) {
      // Damaged, or dropped by another process to make room: both mend by decoding once more.
      if (!(error instanceof DamagedCache) && (error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
      this.reader = await this.rebuild();
      got = await this.reader.window(col, row, cols, rows, overviewFactor);
    }
    if (got === null)
      throw new RangeError(
        `no overview of factor ${overviewFactor}; there are ${this.overviewFactors.join(", ") || "none"}`,
      );
    return got;
  }
}
