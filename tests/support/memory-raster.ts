import { createHash } from "node:crypto";
import proj4 from "proj4";
import type { RasterHandle } from "../../src/terrain/raster.ts";

export interface MemoryRasterSpec {
  file?: string;
  /** proj4 definition of the raster's coordinate system; "+proj=longlat" for degrees. */
  proj: string;
  crs?: string | null;
  /** Outer corner of the north-west cell and cell size, in units of the coordinate system. */
  west: number;
  north: number;
  cell: number | [number, number];
  width: number;
  height: number;
  /** Height at a cell centre in CRS units, or the values row by row. */
  heights: ((x: number, y: number) => number) | Float32Array;
  verticalDatum?: string;
  heightSdM?: number | null;
  overviews?: number[];
}

/** A raster held in memory, as the reader would hand it out: pixel centres, void as NaN, maximum-pooled overviews. */
export function memoryRaster(spec: MemoryRasterSpec): RasterHandle & { values: Float32Array; reads: number } {
  const { width, height, west, north } = spec;
  const [dx, dy] = typeof spec.cell === "number" ? [spec.cell, spec.cell] : spec.cell;
  const projection = proj4("+proj=longlat +datum=WGS84 +no_defs", spec.proj);
  const values = new Float32Array(width * height);
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++)
      values[r * width + c] =
        typeof spec.heights === "function"
          ? spec.heights(west + (c + 0.5) * dx, north - (r + 0.5) * dy)
          : spec.heights[r * width + c]!;
  const toLngLat = (col: number, row: number) => {
    const [lng, lat] = projection.inverse([west + (col + 0.5) * dx, north - (row + 0.5) * dy]);
    return { lng: lng!, lat: lat! };
  };
  const edge = Array.from({ length: 21 }, (_, i) => i / 20).flatMap((f) => [
    toLngLat(-0.5 + f * width, -0.5),
    toLngLat(-0.5 + f * width, height - 0.5),
    toLngLat(-0.5, -0.5 + f * height),
    toLngLat(width - 0.5, -0.5 + f * height),
  ]);
  const middle = toLngLat((width - 1) / 2, (height - 1) / 2);
  const geographic = spec.proj.includes("longlat");
  const perDeg = 111_200;
  const handle = {
    file: spec.file ?? "memory.tif",
    sha256: createHash("sha256").update(new Uint8Array(values.buffer)).digest("hex"),
    width,
    height,
    crs: spec.crs ?? null,
    crsVerified: true,
    cellM: (geographic ? [dx * perDeg * Math.cos((middle.lat * Math.PI) / 180), dy * perDeg] : [dx, dy]) as [
      number,
      number,
    ],
    bounds: [
      Math.min(...edge.map((p) => p.lng)),
      Math.min(...edge.map((p) => p.lat)),
      Math.max(...edge.map((p) => p.lng)),
      Math.max(...edge.map((p) => p.lat)),
    ] as [number, number, number, number],
    verticalDatum: spec.verticalDatum ?? "unknown",
    date: null,
    heightSdM: spec.heightSdM ?? null,
    warnings: [],
    overviewFactors: spec.overviews ?? [2, 4, 8, 16, 32, 64],
    values,
    reads: 0,
    toRaster(place: { lng: number; lat: number }) {
      const [x, y] = projection.forward([place.lng, place.lat]);
      return { col: (x! - west) / dx - 0.5, row: (north - y!) / dy - 0.5 };
    },
    toLngLat,
    async read(col: number, row: number, cols: number, rows: number, factor = 1) {
      handle.reads++;
      const out = new Float32Array(cols * rows).fill(Number.NaN);
      for (let r = 0; r < rows; r++)
        for (let c = 0; c < cols; c++) {
          let best = Number.NaN;
          for (let y = (row + r) * factor; y < (row + r + 1) * factor; y++)
            for (let x = (col + c) * factor; x < (col + c + 1) * factor; x++) {
              if (x < 0 || y < 0 || x >= width || y >= height) continue;
              const z = values[y * width + x]!;
              if (!Number.isNaN(z) && !(best >= z)) best = z;
            }
          out[r * cols + c] = best;
        }
      return out;
    },
  };
  return handle;
}
