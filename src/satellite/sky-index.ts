import type { Scene, SceneBuilding } from "../terrain/scene.ts";

/** Cells per side of a block whose tallest cell is known at once. */
export const BLOCK = 16;
/** On finer grids a cell that stands out of the ground is a column with the cell's own outline; coarser ones are a continuous surface. */
const COLUMN_CELL_M = 5;
/** A surface this far above ground is a thing, not roughness of the ground, m. */
export const STANDS_OUT_M = 0.5;
/** A building's own burned cells, and noise on its roof, m. */
export const ROOF_NOISE_M = 0.05;

export interface BuildingBounds {
  x: number;
  y: number;
  roundM: number;
}

/** What the sky view looks up again and again of one scene: built once, kept beside it. */
export interface SkyIndex {
  /** Solid surface without canopy; with canopy as solid where the scene has no canopy layer. */
  hard: Float32Array;
  columns: boolean;
  blockCols: number;
  blockRows: number;
  /** Tallest column, tallest tree (without growth), m AMSL, per block; −Infinity where there is none. */
  columnMax: Float32Array;
  treeMax: Float32Array;
  /** 1 where the block holds a void cell. */
  hole: Uint8Array;
  /** Highest ground (fine grids) or surface (coarse grids) anywhere, m AMSL. */
  terrainMax: number;
  farMax: number;
  /** What horizons of the ground are taken over: ground, or on coarse grids everything solid but buildings with outlines. */
  terrain: Float32Array;
  bounds: BuildingBounds[];
}

const kept = new WeakMap<Scene, SkyIndex>();

export function skyIndex(scene: Scene): SkyIndex {
  let index = kept.get(scene);
  if (index === undefined) {
    index = build(scene);
    kept.set(scene, index);
  }
  return index;
}

function build(scene: Scene): SkyIndex {
  const { grid, groundM, canopyM } = scene;
  const { cols, rows } = grid;
  const hard = canopyM === null ? scene.surfaceM : scene.bareSurfaceM;
  const columns = grid.cellM <= COLUMN_CELL_M;
  const blockCols = Math.ceil(cols / BLOCK);
  const blockRows = Math.ceil(rows / BLOCK);
  const columnMax = new Float32Array(blockCols * blockRows).fill(Number.NEGATIVE_INFINITY);
  const treeMax = new Float32Array(blockCols * blockRows).fill(Number.NEGATIVE_INFINITY);
  const hole = new Uint8Array(blockCols * blockRows);
  const terrain = columns || hard === groundM ? groundM : coarseTerrain(scene, hard);
  let terrainMax = Number.NEGATIVE_INFINITY;
  for (let row = 0; row < rows; row++) {
    const base = Math.floor(row / BLOCK) * blockCols;
    for (let col = 0; col < cols; col++) {
      const i = row * cols + col;
      const block = base + Math.floor(col / BLOCK);
      const top = hard[i]!;
      const ground = groundM[i]!;
      if (Number.isNaN(top) || (canopyM !== null && Number.isNaN(canopyM[i]!))) hole[block] = 1;
      if (terrain[i]! > terrainMax) terrainMax = terrain[i]!;
      if (columns && !(top - ground <= STANDS_OUT_M) && top > columnMax[block]!) columnMax[block] = top;
      if (canopyM !== null && canopyM[i]! > STANDS_OUT_M) {
        const tree = ground + canopyM[i]!;
        if (tree > treeMax[block]!) treeMax[block] = tree;
      }
    }
  }
  let farMax = Number.NEGATIVE_INFINITY;
  if (scene.farField !== null) for (const z of scene.farField.groundM) if (z > farMax) farMax = z;
  return {
    hard,
    columns,
    blockCols,
    blockRows,
    columnMax,
    treeMax,
    hole,
    terrainMax,
    farMax,
    terrain,
    bounds: scene.buildings.map(boundsOf),
  };
}

/** Everything solid as a continuous surface, with buildings that have outlines taken out: those are tested exactly. */
function coarseTerrain(scene: Scene, hard: Float32Array): Float32Array {
  const out = Float32Array.from(hard);
  if (scene.buildingAt !== null)
    for (let i = 0; i < out.length; i++) if (scene.buildingAt[i]! > 0) out[i] = scene.groundM[i]!;
  return out;
}

function boundsOf(building: SceneBuilding): BuildingBounds {
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const polygon of building.polygons)
    for (const [x, y] of polygon[0] ?? []) {
      west = Math.min(west, x);
      east = Math.max(east, x);
      south = Math.min(south, y);
      north = Math.max(north, y);
    }
  return { x: (west + east) / 2, y: (south + north) / 2, roundM: Math.hypot(east - west, north - south) / 2 };
}

/** True where the obstacle stands on the plan's date: always when it names no times; any overlap with the day counts. */
export function standsOn(building: SceneBuilding, date: string): boolean {
  if (!building.temporary || (building.from === null && building.to === null)) return true;
  const day = date.slice(0, 10);
  // Widened by the largest offsets of local time, so that a day anywhere on Earth is inside.
  const start = Date.parse(date.length > 10 ? date : `${day}T00:00:00+14:00`);
  const end = Date.parse(date.length > 10 ? date : `${day}T23:59:59-12:00`);
  if (building.from !== null && Date.parse(building.from) > end) return false;
  return !(building.to !== null && Date.parse(building.to) < start);
}

/** Even-odd test over all rings of a building. */
export function insideBuilding(building: SceneBuilding, x: number, y: number): boolean {
  let odd = false;
  for (const polygon of building.polygons)
    for (const ring of polygon)
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        const [xi, yi] = ring[i]!;
        const [xj, yj] = ring[j]!;
        if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
      }
  return odd;
}
