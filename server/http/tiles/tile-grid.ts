import type { LngLat, LocalFrame } from "../../../src/geodesy/types.ts";
import { cellOf, type Grid, placeOf } from "../../../src/terrain/scene.ts";

export const TILE = 256;
/** Nodes of exact positions lie this many pixels apart; between them positions run straight. */
const NODE = 16;
const NODES = TILE / NODE + 1;

/**
 * Longitude and latitude of a pixel in the square grid of web maps.
 * @param x  tile column plus share, from 180° west
 * @param y  tile row plus share, from 85.0511° north
 * Source: spherical Mercator as in EPSG Guidance Note 7-2 (method 1024), square of half-side πR.
 */
export function tileLngLat(z: number, x: number, y: number): LngLat {
  const n = 2 ** z;
  return { lng: (x / n) * 360 - 180, lat: (Math.atan(Math.sinh(Math.PI * (1 - (2 * y) / n))) * 180) / Math.PI };
}

/** Tile column and row (with shares) of a place. */
export function tileOf(z: number, place: LngLat): { x: number; y: number } {
  const n = 2 ** z;
  const lat = (place.lat * Math.PI) / 180;
  return { x: ((place.lng + 180) / 360) * n, y: ((1 - Math.asinh(Math.tan(lat)) / Math.PI) / 2) * n };
}

/** Column and row of the working grid (fractional, whole numbers are cell centres) for the centre of every pixel. */
export interface TileCells {
  cols: Float64Array;
  rows: Float64Array;
  /** Cells per pixel at the tile's middle. */
  cellsPerPixel: number;
}

/**
 * Where the pixels of a tile lie in the grid. Exact on a lattice of 17 × 17 nodes and straight between them: a node's
 * cell of 16 pixels strays less than a hundredth of a pixel from the projection.
 * @returns null when the tile lies wholly outside the grid
 */
export function tileCells(frame: LocalFrame, grid: Grid, z: number, x: number, y: number): TileCells | null {
  const nodeCol = new Float64Array(NODES * NODES);
  const nodeRow = new Float64Array(NODES * NODES);
  let minCol = Number.POSITIVE_INFINITY;
  let maxCol = Number.NEGATIVE_INFINITY;
  let minRow = Number.POSITIVE_INFINITY;
  let maxRow = Number.NEGATIVE_INFINITY;
  for (let j = 0; j < NODES; j++)
    for (let i = 0; i < NODES; i++) {
      const place = tileLngLat(z, x + (i * NODE) / TILE, y + (j * NODE) / TILE);
      const at = cellOf(grid, frame.toXY(place));
      nodeCol[j * NODES + i] = at.col;
      nodeRow[j * NODES + i] = at.row;
      minCol = Math.min(minCol, at.col);
      maxCol = Math.max(maxCol, at.col);
      minRow = Math.min(minRow, at.row);
      maxRow = Math.max(maxRow, at.row);
    }
  // Positions that are not numbers (beyond the frame's reach) fail every comparison and count as outside.
  if (!(maxCol > -0.5 && maxRow > -0.5 && minCol < grid.cols - 0.5 && minRow < grid.rows - 0.5)) return null;
  const cols = new Float64Array(TILE * TILE);
  const rows = new Float64Array(TILE * TILE);
  spread(nodeCol, cols);
  spread(nodeRow, rows);
  return { cols, rows, cellsPerPixel: (maxCol - minCol) / TILE };
}

/** Straight interpolation from nodes to pixel centres. */
function spread(nodes: Float64Array, out: Float64Array): void {
  for (let y = 0; y < TILE; y++) {
    const v = (y + 0.5) / NODE;
    const j = Math.floor(v);
    const fv = v - j;
    for (let x = 0; x < TILE; x++) {
      const u = (x + 0.5) / NODE;
      const i = Math.floor(u);
      const fu = u - i;
      const a = nodes[j * NODES + i]!;
      const b = nodes[j * NODES + i + 1]!;
      const c = nodes[(j + 1) * NODES + i]!;
      const d = nodes[(j + 1) * NODES + i + 1]!;
      out[y * TILE + x] = (a * (1 - fu) + b * fu) * (1 - fv) + (c * (1 - fu) + d * fu) * fv;
    }
  }
}

/** Edge of the grid in degrees: west, south, east, north of its four sides, not only its corners. */
export function gridBounds(frame: LocalFrame, grid: Grid): [number, number, number, number] {
  let [west, south, east, north] = [180, 90, -180, -90];
  const steps = 16;
  const take = (col: number, row: number) => {
    const p = frame.toLngLat(placeOf(grid, col, row));
    west = Math.min(west, p.lng);
    east = Math.max(east, p.lng);
    south = Math.min(south, p.lat);
    north = Math.max(north, p.lat);
  };
  for (let k = 0; k <= steps; k++) {
    const col = -0.5 + (grid.cols * k) / steps;
    const row = -0.5 + (grid.rows * k) / steps;
    take(col, -0.5);
    take(col, grid.rows - 0.5);
    take(-0.5, row);
    take(grid.cols - 0.5, row);
  }
  return [west, south, east, north];
}

/** Circumference at the equator over 256 pixels, m: WGS 84 semi-major axis 6 378 137 m. */
const METRES_PER_PIXEL = (2 * Math.PI * 6_378_137) / TILE;

/** From the zoom at which the grid fits one tile to that at which a pixel is no larger than a cell. */
export function zoomRange(
  bounds: readonly [number, number, number, number],
  grid: Grid,
): { minZoom: number; maxZoom: number } {
  const lat = (bounds[1] + bounds[3]) / 2;
  const scale = METRES_PER_PIXEL * Math.cos((lat * Math.PI) / 180);
  const longest = Math.max(grid.cols, grid.rows) * grid.cellM;
  const clampZoom = (zoom: number) => Math.min(22, Math.max(0, zoom));
  return {
    minZoom: clampZoom(Math.floor(Math.log2((scale * TILE) / longest))),
    maxZoom: clampZoom(Math.ceil(Math.log2(scale / grid.cellM))),
  };
}
