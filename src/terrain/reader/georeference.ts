import { HardstandError } from "../../errors/index.ts";
import { type GeoKeys, KEY } from "./geokeys.ts";
import type { Layout } from "./layout.ts";
import { type Ifd, numbers } from "./tiff-ifd.ts";
import { TAG } from "./tiff-tags.ts";

/**
 * Where a raster lies in its own CRS, settled north-up: the outer north-west corner of cell (0, 0) and the cell's size.
 * `stepY` is positive downwards (south), whatever the file's row order.
 */
export interface Placement {
  west: number;
  north: number;
  stepX: number;
  stepY: number;
  southUp: boolean;
  pixelIsPoint: boolean;
}

/**
 * Builds the placement from ModelTransformation, or ModelPixelScale and ModelTiepoint, with the half cell of
 * pixel-is-point rasters taken into account.
 * @throws terrain.no-georeference, terrain.rotated or terrain.unsupported
 * Source: OGC GeoTIFF 1.1 (19-008r4) §7.1, annex B.6.
 */
export function placementOf(name: string, ifd: Ifd, keys: GeoKeys, l: Layout): Placement {
  const pixelIsPoint = keys.number(KEY.rasterType) === 2;
  const matrix = numbers(ifd, TAG.modelTransformation);
  const scale = numbers(ifd, TAG.modelPixelScale);
  const ties = numbers(ifd, TAG.modelTiepoint);
  let a: number;
  let e: number;
  let x0: number;
  let y0: number;
  if (matrix !== undefined && matrix.length >= 16) {
    const [m0, m1, , m3, m4, m5, , m7] = matrix as [number, number, number, number, number, number, number, number];
    const largest = Math.max(Math.abs(m0), Math.abs(m5));
    // A turn that moves the far edge by less than a hundredth of a cell is rounding, not rotation.
    const drift = Math.max(Math.abs(m1) * l.height, Math.abs(m4) * l.width);
    if (!(largest > 0) || drift > 0.01 * Math.min(Math.abs(m0), Math.abs(m5)) || m0 < 0) throw rotated(name, matrix);
    [a, e, x0, y0] = [m0, m5, m3, m7];
  } else if (scale !== undefined && scale.length >= 2 && ties !== undefined && ties.length >= 6) {
    const [i, j, , x, y] = ties as [number, number, number, number, number];
    // A pixel scale counts rows downwards; a negative one is taken as GDAL takes it: south-up.
    a = scale[0]!;
    e = -scale[1]!;
    if (a < 0) throw rotated(name, scale);
    x0 = x - i * a;
    y0 = y - j * e;
  } else if (ties !== undefined && ties.length >= 18)
    throw new HardstandError("terrain.unsupported", "the raster is placed by ground control points, not by a grid", {
      where: name,
      received: `${Math.floor(ties.length / 6)} points`,
      hint: "warp it to a north-up grid first",
    });
  else
    throw new HardstandError("terrain.no-georeference", "the raster does not say where it lies", {
      where: name,
      hint: "export it as a GeoTIFF with its position and coordinate system",
    });
  if (![a, e, x0, y0].every(Number.isFinite) || a === 0 || e === 0)
    throw new HardstandError("terrain.corrupt", "the raster's position or cell size makes no sense", {
      where: name,
      received: [a, e, x0, y0].join(", "),
      hint: "fetch or export the file again",
    });
  if (pixelIsPoint) {
    x0 -= a / 2;
    y0 -= e / 2;
  }
  const southUp = e > 0;
  return { west: x0, north: southUp ? y0 + e * l.height : y0, stepX: a, stepY: Math.abs(e), southUp, pixelIsPoint };
}

const rotated = (name: string, received: number[]): HardstandError =>
  new HardstandError("terrain.rotated", "the raster's grid is rotated, sheared or mirrored", {
    where: name,
    received: received.slice(0, 8).join(", "),
    hint: "warp it to a north-up grid first",
  });
