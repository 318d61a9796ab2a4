import type { LocalFrame, XY } from "../geodesy/types.ts";

/**
 * The working grid of a plan, in its local frame. Row 0 is the northernmost row, column 0 the westernmost.
 * Cell (col, row) has its centre at x = westM + (col + ½)·cellM, y = northM − (row + ½)·cellM. Heights belong to centres.
 */
export interface Grid {
  westM: number;
  northM: number;
  cellM: number;
  cols: number;
  rows: number;
}

/** Where a building's height comes from: measured, derived from floors, or assumed because the source gives none. */
export type HeightSource = "measured" | "floors" | "assumed";

export interface SceneBuilding {
  id: string;
  name: string;
  /** Rings in the local frame, [x, y] metres; the first of each polygon is the outer ring. Closed (first = last). */
  polygons: [number, number][][][];
  heightM: number;
  heightSource: HeightSource;
  /** Ground height at the foot (AMSL): the declared base, else the median ground inside the footprint. */
  baseAmslM: number;
  topAmslM: number;
  /** Temporary obstacles count only between these instants (ISO 8601); null = always. */
  from: string | null;
  to: string | null;
  temporary: boolean;
}

/**
 * Everything computation needs to know of the ground: one grid, several arrays of cols·rows values (row-major).
 * Void is NaN in every height array, never zero. Arrays sit in SharedArrayBuffers where threads share them.
 */
export interface Scene {
  frame: LocalFrame;
  grid: Grid;
  /** Bare earth, m AMSL. */
  groundM: Float32Array;
  /** Top of everything solid with canopy counted as solid: buildings burned as max, canopy as max(surface, ground + canopy). */
  surfaceM: Float32Array;
  /** The same with canopy absent (surface no higher than ground + canopy + 1 m becomes ground; buildings stay). The same array as surfaceM when there is no canopy. */
  bareSurfaceM: Float32Array;
  /** Vegetation height above ground, m; 0 where none; null when the plan has no canopy raster. */
  canopyM: Float32Array | null;
  buildings: SceneBuilding[];
  /** Index into `buildings` + 1 for cells whose centre lies in a footprint, else 0; null when there are none. */
  buildingAt: Uint16Array | null;
  /** True when ground is a filter's estimate from a surface: stand checks are then at best caution. */
  groundEstimated: boolean;
  /** 1 where the ground raster is void and ground was estimated from its surroundings under a known surface; absent when nowhere. */
  groundFilled?: Uint8Array;
  /** Posting (cell size, m) of the ground raster itself, not of the grid. */
  groundPostingM: number;
  /** True when a separate surface (or buildings, canopy, land cover) is known; false: bare earth only, trees and buildings are not in it. */
  hasSurface: boolean;
  /** Coarser ground beyond the grid for horizons, maximum-pooled; null when the plan has none. */
  farField: { grid: Grid; groundM: Float32Array } | null;
  warnings: SceneWarning[];
}

export interface SceneWarning {
  code: string;
  text: string;
}

/** Column and row (fractional; whole numbers are cell centres) of a place in the local frame. */
export function cellOf(grid: Grid, place: XY): { col: number; row: number } {
  return { col: (place.xM - grid.westM) / grid.cellM - 0.5, row: (grid.northM - place.yM) / grid.cellM - 0.5 };
}

/** Local-frame place of a (fractional) column and row. */
export function placeOf(grid: Grid, col: number, row: number): XY {
  return { xM: grid.westM + (col + 0.5) * grid.cellM, yM: grid.northM - (row + 0.5) * grid.cellM };
}

/** Nearest cell as col, row and index; null outside the grid. */
export function nearestCell(grid: Grid, place: XY): { col: number; row: number; index: number } | null {
  const at = cellOf(grid, place);
  const col = Math.round(at.col);
  const row = Math.round(at.row);
  if (col < 0 || row < 0 || col >= grid.cols || row >= grid.rows) return null;
  return { col, row, index: row * grid.cols + col };
}

/** Bilinear value at a fractional column and row; NaN outside the grid or where any of the four cells is void. */
export function sampleBilinear(grid: Grid, values: Float32Array, col: number, row: number): number {
  if (!(col >= -0.5 && row >= -0.5 && col <= grid.cols - 0.5 && row <= grid.rows - 0.5)) return Number.NaN;
  const c = Math.min(Math.max(col, 0), grid.cols - 1);
  const r = Math.min(Math.max(row, 0), grid.rows - 1);
  const c0 = Math.min(Math.floor(c), Math.max(grid.cols - 2, 0));
  const r0 = Math.min(Math.floor(r), Math.max(grid.rows - 2, 0));
  const c1 = Math.min(c0 + 1, grid.cols - 1);
  const r1 = Math.min(r0 + 1, grid.rows - 1);
  const fc = c - c0;
  const fr = r - r0;
  const a = values[r0 * grid.cols + c0]!;
  const b = values[r0 * grid.cols + c1]!;
  const d = values[r1 * grid.cols + c0]!;
  const e = values[r1 * grid.cols + c1]!;
  // A neighbour of zero weight must not spoil the value: void times zero is not void here.
  const top = fc === 0 ? a : fc === 1 ? b : a + (b - a) * fc;
  if (fr === 0) return top;
  const bottom = fc === 0 ? d : fc === 1 ? e : d + (e - d) * fc;
  return fr === 1 ? bottom : top + (bottom - top) * fr;
}
