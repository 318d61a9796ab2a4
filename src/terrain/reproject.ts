import type { LocalFrame } from "../geodesy/types.ts";
import type { RasterHandle } from "./raster.ts";
import { bilinearTile, maxTile, nearestTile, type RasterWindow, type TileGeometry } from "./reproject.kernel.ts";
import { type Grid, placeOf } from "./scene.ts";
import { sharedHeights, stopIfAsked, type WorkHooks } from "./shared.ts";

/** Cells of a raster read at once for one tile. */
const WINDOW_CELLS = 4_000_000;
const TILE = 256;
/** Largest error of a place interpolated between nodes, raster cells. */
const NODE_ERROR = 0.002;

/** How a grid takes its values: heights at cell centres, the greatest height within each cell, or the nearest cell's class. */
export type Resampling = "centre" | "greatest" | "class";

export interface Mosaic {
  heightsM: Float32Array;
  /** Which raster (1-based, in the given order) each cell has its height from; 0 where void. */
  source: Uint8Array;
  filled: number;
}

function nodesOf(grid: Grid, frame: LocalFrame, raster: RasterHandle, t: TileGeometry): TileGeometry {
  const nodeRows = Math.ceil(t.rows / t.step) + 1;
  const nodeCols = Math.ceil(t.cols / t.step) + 1;
  const nodeC = new Float64Array(nodeRows * nodeCols);
  const nodeR = new Float64Array(nodeRows * nodeCols);
  for (let j = 0; j < nodeRows; j++)
    for (let i = 0; i < nodeCols; i++) {
      const place = frame.toLngLat(placeOf(grid, t.col0 + i * t.step, t.row0 + j * t.step));
      const at = raster.toRaster(place);
      nodeC[j * nodeCols + i] = at.col;
      nodeR[j * nodeCols + i] = at.row;
    }
  return { ...t, nodeCols, nodeC, nodeR };
}

/** How far the middle between four nodes lies from where it is really, raster cells: the worst case of interpolation. */
function nodeError(grid: Grid, frame: LocalFrame, raster: RasterHandle, t: TileGeometry): number {
  const middle = frame.toLngLat(placeOf(grid, t.col0 + t.step / 2, t.row0 + t.step / 2));
  const real = raster.toRaster(middle);
  const corner = (v: Float64Array) => (v[0]! + v[1]! + v[t.nodeCols]! + v[t.nodeCols + 1]!) / 4;
  return Math.max(Math.abs(corner(t.nodeC) - real.col), Math.abs(corner(t.nodeR) - real.row));
}

function placeTile(grid: Grid, frame: LocalFrame, raster: RasterHandle, bare: TileGeometry): TileGeometry {
  let t = nodesOf(grid, frame, raster, bare);
  while (t.step > 2 && nodeError(grid, frame, raster, t) > NODE_ERROR)
    t = nodesOf(grid, frame, raster, { ...bare, step: t.step / 2 });
  return t;
}

interface Box {
  c0: number;
  c1: number;
  r0: number;
  r1: number;
}

function boxOf(t: TileGeometry): Box | null {
  const box = { c0: Number.POSITIVE_INFINITY, c1: -Infinity, r0: Number.POSITIVE_INFINITY, r1: -Infinity };
  for (let n = 0; n < t.nodeC.length; n++) {
    const c = t.nodeC[n]!;
    const r = t.nodeR[n]!;
    if (!Number.isFinite(c) || !Number.isFinite(r)) return null;
    box.c0 = Math.min(box.c0, c);
    box.c1 = Math.max(box.c1, c);
    box.r0 = Math.min(box.r0, r);
    box.r1 = Math.max(box.r1, r);
  }
  return box;
}

/** Window of full cells a box needs, with a ring of one cell beyond the raster for its neighbours' heights. */
async function readWindow(raster: RasterHandle, box: Box): Promise<RasterWindow | null> {
  const col0 = Math.max(-1, Math.floor(box.c0) - 1);
  const row0 = Math.max(-1, Math.floor(box.r0) - 1);
  const cols = Math.min(raster.width, Math.ceil(box.c1) + 1) - col0 + 1;
  const rows = Math.min(raster.height, Math.ceil(box.r1) + 1) - row0 + 1;
  if (box.c1 < -0.5 || box.r1 < -0.5 || box.c0 > raster.width - 0.5 || box.r0 > raster.height - 0.5) return null;
  const values = await raster.read(col0, row0, cols, rows);
  return { values, col0, row0, cols, rows, width: raster.width, height: raster.height };
}

/** Whole cells stay whole through a projection and back. */
const snap = (v: number): number => (Math.abs(v - Math.round(v)) < 1e-4 ? Math.round(v) : v);

/**
 * Heights for the ring just outside a raster from the rasters beside it, so that a tile edge is no seam.
 * Cells of the ring that no other raster knows stay void.
 */
async function fillRing(w: RasterWindow, raster: RasterHandle, others: readonly RasterHandle[]): Promise<void> {
  const ring: number[] = [];
  for (let y = 0; y < w.rows; y++)
    for (let x = 0; x < w.cols; x++) {
      const c = w.col0 + x;
      const r = w.row0 + y;
      if (c < 0 || r < 0 || c >= w.width || r >= w.height) ring.push(y * w.cols + x);
    }
  for (const other of others) {
    const open = ring.filter((k) => Number.isNaN(w.values[k]!));
    if (open.length === 0) return;
    const places = open.map((k) => {
      const p = other.toRaster(raster.toLngLat(w.col0 + (k % w.cols), w.row0 + Math.floor(k / w.cols)));
      return { col: snap(p.col), row: snap(p.row) };
    });
    const inside = places.map((p) => p.col >= 0 && p.row >= 0 && p.col <= other.width - 1 && p.row <= other.height - 1);
    const used = places.filter((_, n) => inside[n]);
    if (used.length === 0) continue;
    const c0 = Math.floor(Math.min(...used.map((p) => p.col)));
    const r0 = Math.floor(Math.min(...used.map((p) => p.row)));
    const cols = Math.ceil(Math.max(...used.map((p) => p.col))) - c0 + 1;
    const rows = Math.ceil(Math.max(...used.map((p) => p.row))) - r0 + 1;
    const values = await other.read(c0, r0, cols, rows);
    open.forEach((k, n) => {
      if (!inside[n]) return;
      const p = places[n]!;
      const x = Math.min(Math.floor(p.col - c0), Math.max(0, cols - 2));
      const y = Math.min(Math.floor(p.row - r0), Math.max(0, rows - 2));
      const fx = p.col - c0 - x;
      const fy = p.row - r0 - y;
      const at = (i: number, j: number) => values[Math.min(y + j, rows - 1) * cols + Math.min(x + i, cols - 1)]!;
      const weighed = [(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy];
      const z = [at(0, 0), at(1, 0), at(0, 1), at(1, 1)];
      w.values[k] = weighed.reduce((sum, f, m) => (f < 1e-9 ? sum : sum + f * z[m]!), 0);
    });
  }
}

/** Coarsest overview that still leaves four cells along a grid cell, so that a maximum reaches little beyond it. */
function overviewFor(raster: RasterHandle, ratio: number): number {
  return raster.overviewFactors.filter((f) => f * 4 <= ratio).reduce((a, b) => Math.max(a, b), 1);
}

async function readOverview(raster: RasterHandle, box: Box, f: number, half: number): Promise<RasterWindow | null> {
  const width = Math.ceil(raster.width / f);
  const height = Math.ceil(raster.height / f);
  const col0 = Math.max(0, Math.floor((box.c0 - half) / f) - 1);
  const row0 = Math.max(0, Math.floor((box.r0 - half) / f) - 1);
  const cols = Math.min(width, Math.ceil((box.c1 + half) / f) + 2) - col0;
  const rows = Math.min(height, Math.ceil((box.r1 + half) / f) + 2) - row0;
  if (cols <= 0 || rows <= 0) return null;
  return { values: await raster.read(col0, row0, cols, rows, f), col0, row0, cols, rows, width, height };
}

/**
 * Brings rasters onto the working grid; per cell the first raster with data wins.
 * @param how  "centre": bilinear at the cell's centre, voids masked before; "greatest": the greatest valid height of the
 *             raster cells that a grid cell overlaps, for rasters finer than the grid (others fall back to "centre");
 *             "class": the nearest cell's value, never a mixture
 * @returns heights in metres, NaN where no raster has data, and which raster each cell is from
 * Places are interpolated between nodes to 0.002 raster cell. Throws run.cancelled when asked to stop.
 */
export async function mosaic(
  grid: Grid,
  frame: LocalFrame,
  rasters: readonly RasterHandle[],
  how: Resampling,
  hooks: WorkHooks = {},
): Promise<Mosaic> {
  const count = grid.cols * grid.rows;
  const heightsM = sharedHeights(count);
  const source = new Uint8Array(count);
  if (rasters.length === 0) return { heightsM, source, filled: 0 };
  let filled = 0;
  const finest = Math.min(...rasters.map((r) => Math.min(...r.cellM)));
  const perCell = Math.max(
    1,
    grid.cellM / finest / (how === "greatest" ? overviewFor(rasters[0]!, grid.cellM / finest) : 1),
  );
  const side = Math.max(8, Math.min(TILE, Math.floor(Math.sqrt(WINDOW_CELLS) / perCell)));
  const step = Math.min(32, side);
  for (let row0 = 0; row0 < grid.rows; row0 += side) {
    for (let col0 = 0; col0 < grid.cols; col0 += side) {
      stopIfAsked(hooks, "reading the ground");
      const cols = Math.min(side, grid.cols - col0);
      const rows = Math.min(side, grid.rows - row0);
      const bare = {
        col0,
        row0,
        cols,
        rows,
        stride: grid.cols,
        step,
        nodeCols: 0,
        nodeC: new Float64Array(0),
        nodeR: new Float64Array(0),
      };
      let open = cols * rows;
      for (const [k, raster] of rasters.entries()) {
        if (open === 0) break;
        const t = placeTile(grid, frame, raster, bare);
        const box = boxOf(t);
        if (box === null) continue;
        const halfC = grid.cellM / raster.cellM[0] / 2;
        const halfR = grid.cellM / raster.cellM[1] / 2;
        const coarse = how === "greatest" && Math.min(halfC, halfR) > 0.75;
        if (coarse) {
          const f = overviewFor(raster, 2 * Math.min(halfC, halfR));
          const w = await readOverview(raster, box, f, Math.max(halfC, halfR));
          if (w !== null) open -= maxTile(t, w, f, halfC, halfR, heightsM, source, k + 1);
          continue;
        }
        const w = await readWindow(raster, box);
        if (w === null) continue;
        if (how === "class") {
          open -= nearestTile(t, w, heightsM, source, k + 1);
          continue;
        }
        await fillRing(
          w,
          raster,
          rasters.filter((other) => other !== raster),
        );
        open -= bilinearTile(t, w, heightsM, source, k + 1);
      }
      filled += cols * rows - open;
    }
    hooks.onProgress?.(Math.min(1, (row0 + side) / grid.rows));
  }
  return { heightsM, source, filled };
}
