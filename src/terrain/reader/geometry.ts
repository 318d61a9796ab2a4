import type { LngLat } from "../../geodesy/types.ts";
import type { CrsInfo } from "./crs.ts";
import { crsFunctions } from "./crs-functions.ts";
import type { Placement } from "./georeference.ts";

/** Semi-major axis and squared eccentricity of WGS 84. */
const A = 6378137;
const E2 = 0.00669437999014;

/** Functions between cells (whole numbers are centres) and places, for a raster settled north-up. */
export interface RasterGeometry {
  toRaster(place: LngLat): { col: number; row: number };
  toLngLat(col: number, row: number): LngLat;
  /** West, south, east, north; east passes 180 where the raster crosses the antimeridian. */
  bounds: [number, number, number, number];
  cellM: [number, number];
}

const wrapNear = (lng: number, near: number): number => lng - 360 * Math.round((lng - near) / 360);

export function rasterGeometry(p: Placement, crs: CrsInfo, width: number, height: number): RasterGeometry {
  const f = crsFunctions(crs);
  const middleX = p.west + (p.stepX * width) / 2;
  const toLngLat = (col: number, row: number): LngLat => {
    const [lng, lat] = f.toLngLat(p.west + (col + 0.5) * p.stepX, p.north - (row + 0.5) * p.stepY);
    return { lng: lng > 180 || lng < -180 ? wrapNear(lng, 0) : lng, lat };
  };
  const toRaster = (place: LngLat): { col: number; row: number } => {
    const [x0, y] = f.fromLngLat(place.lng, place.lat);
    const x = crs.geographic ? wrapNear(x0, middleX) : x0;
    return { col: (x - p.west) / p.stepX - 0.5, row: (p.north - y) / p.stepY - 0.5 };
  };
  const centre = toLngLat(width / 2 - 0.5, height / 2 - 0.5);
  return {
    toRaster,
    toLngLat,
    bounds: boundsOf(toLngLat, width, height, centre.lng),
    cellM: cellMetres(toLngLat, width, height),
  };
}

/** Bounds over points along the outer edge, so that bent edges count. */
function boundsOf(
  toLngLat: (col: number, row: number) => LngLat,
  width: number,
  height: number,
  nearLng: number,
): [number, number, number, number] {
  const b: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  const steps = 32;
  for (let i = 0; i <= steps; i++) {
    const c = (width * i) / steps - 0.5;
    const r = (height * i) / steps - 0.5;
    for (const [col, row] of [
      [c, -0.5],
      [c, height - 0.5],
      [-0.5, r],
      [width - 0.5, r],
    ] as const) {
      const { lng, lat } = toLngLat(col, row);
      const near = wrapNear(lng, nearLng);
      b[0] = Math.min(b[0], near);
      b[1] = Math.min(b[1], lat);
      b[2] = Math.max(b[2], near);
      b[3] = Math.max(b[3], lat);
    }
  }
  const turn = b[0] < -180 ? 360 : b[0] >= 180 ? -360 : 0;
  return [b[0] + turn, b[1], b[2] + turn, b[3]];
}

/** Ground size of the middle cell along columns and rows, metres, on the ellipsoid. */
function cellMetres(toLngLat: (col: number, row: number) => LngLat, width: number, height: number): [number, number] {
  const c = width / 2 - 0.5;
  const r = height / 2 - 0.5;
  return [distanceM(toLngLat(c - 0.5, r), toLngLat(c + 0.5, r)), distanceM(toLngLat(c, r - 0.5), toLngLat(c, r + 0.5))];
}

/** Distance of two near places by the radii of curvature, metres; good to 1 in 10⁶ over a few kilometres. */
function distanceM(a: LngLat, b: LngLat): number {
  const lat = ((a.lat + b.lat) / 2) * (Math.PI / 180);
  const w = 1 - E2 * Math.sin(lat) ** 2;
  const north = ((A * (1 - E2)) / w ** 1.5) * (b.lat - a.lat) * (Math.PI / 180);
  const east = (A / Math.sqrt(w)) * Math.cos(lat) * wrapNear(b.lng - a.lng, 0) * (Math.PI / 180);
  return Math.hypot(north, east);
}
