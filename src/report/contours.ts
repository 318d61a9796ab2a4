import { contours as isobands } from "d3-contour";
import type { Grid } from "../terrain/scene.ts";

/** A line of equal height in the local frame: [x, y] metres; closed lines end where they begin. */
export interface ContourLine {
  heightM: number;
  points: [number, number][];
}

const STEPS = [0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500];
const MOST_LINES = 30;

/** Height step of contours for a range of heights: the finest of the usual steps that draws at most thirty levels. */
export function contourStep(minM: number, maxM: number): number {
  return STEPS.find((step) => (maxM - minM) / step <= MOST_LINES) ?? STEPS.at(-1)!;
}

/**
 * Reduces an array by whole-cell means, so that no side is longer than `most`. A block with any void is void: a line is
 * never drawn over ground that is not known.
 */
export function reduce(grid: Grid, values: Float32Array, most: number): { grid: Grid; values: Float32Array } {
  const factor = Math.max(1, Math.ceil(Math.max(grid.cols, grid.rows) / most));
  if (factor === 1) return { grid, values };
  const cols = Math.floor(grid.cols / factor);
  const rows = Math.floor(grid.rows / factor);
  const out = new Float32Array(cols * rows);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < cols; c++) {
      let sum = 0;
      for (let j = 0; j < factor; j++)
        for (let i = 0; i < factor; i++) sum += values[(r * factor + j) * grid.cols + c * factor + i]!;
      out[r * cols + c] = sum / (factor * factor);
    }
  return { grid: { ...grid, cellM: grid.cellM * factor, cols, rows }, values: out };
}

/**
 * Contour lines by marching squares over cell centres. Lines end where the data end: at the grid's edge and at voids
 * they stay open (a contouring that closes its rings would draw along the edge of the data).
 * @param grid    the working grid
 * @param values  heights, row-major, NaN void
 * @param stepM   height step, > 0
 */
export function contourLines(grid: Grid, values: Float32Array, stepM: number): ContourLine[] {
  const { cols, rows, cellM } = grid;
  // Ends of segments by level; an end is an edge of the lattice of centres: 2·cell for the one to the east, +1 to the south.
  const levels = new Map<number, Map<number, number[]>>();
  const join = (level: number, a: number, b: number) => {
    let ends = levels.get(level);
    if (ends === undefined) {
      ends = new Map();
      levels.set(level, ends);
    }
    for (const [from, to] of [
      [a, b],
      [b, a],
    ] as const) {
      const list = ends.get(from);
      if (list === undefined) ends.set(from, [to]);
      else list.push(to);
    }
  };
  for (let row = 0; row < rows - 1; row++)
    for (let col = 0; col < cols - 1; col++) {
      const i = row * cols + col;
      const nw = values[i]!;
      const ne = values[i + 1]!;
      const sw = values[i + cols]!;
      const se = values[i + cols + 1]!;
      const low = Math.min(nw, ne, sw, se);
      const high = Math.max(nw, ne, sw, se);
      if (Number.isNaN(low) || low === high) continue;
      const north = 2 * i;
      const west = 2 * i + 1;
      const east = 2 * (i + 1) + 1;
      const south = 2 * (i + cols);
      for (let k = Math.floor(low / stepM) + 1; k * stepM <= high; k++) {
        const h = k * stepM;
        // A corner exactly at the level counts as above it, everywhere alike.
        const cut = (nw >= h ? 8 : 0) | (ne >= h ? 4 : 0) | (se >= h ? 2 : 0) | (sw >= h ? 1 : 0);
        switch (cut) {
          case 1:
          case 14:
            join(k, west, south);
            break;
          case 2:
          case 13:
            join(k, south, east);
            break;
          case 3:
          case 12:
            join(k, west, east);
            break;
          case 4:
          case 11:
            join(k, north, east);
            break;
          case 6:
          case 9:
            join(k, north, south);
            break;
          case 7:
          case 8:
            join(k, north, west);
            break;
          case 5:
          case 10: {
            // A saddle: the mean of the corners says which way the ground joins.
            const joined = (nw + ne + sw + se) / 4 >= h;
            if ((cut === 5) === joined) {
              join(k, north, west);
              join(k, south, east);
            } else {
              join(k, north, east);
              join(k, west, south);
            }
            break;
          }
        }
      }
    }
  const place = (edge: number, h: number): [number, number] => {
    const i = edge >> 1;
    const j = (edge & 1) === 0 ? i + 1 : i + cols;
    const share = (h - values[i]!) / (values[j]! - values[i]!);
    const col = (i % cols) + ((edge & 1) === 0 ? share : 0);
    const row = Math.floor(i / cols) + ((edge & 1) === 0 ? 0 : share);
    return [grid.westM + (col + 0.5) * cellM, grid.northM - (row + 0.5) * cellM];
  };
  const lines: ContourLine[] = [];
  for (const k of [...levels.keys()].sort((a, b) => a - b)) {
    const ends = levels.get(k)!;
    const heightM = k * stepM;
    const follow = (start: number) => {
      const points = [place(start, heightM)];
      let at = start;
      for (;;) {
        const next = ends.get(at)!.pop();
        if (next === undefined) break;
        const back = ends.get(next)!;
        back.splice(back.indexOf(at), 1);
        points.push(place(next, heightM));
        at = next;
      }
      lines.push({ heightM, points });
    };
    // Open lines first, from their loose ends; what is left are rings.
    for (const [edge, list] of ends) if (list.length === 1) follow(edge);
    for (const [edge, list] of ends) if (list.length > 0) follow(edge);
  }
  return lines;
}

/**
 * Outlines of cells at or above a value, as polygons with holes in the local frame.
 * @param values  row-major; NaN counts as below
 * @returns rings closed, outer ring first
 */
export function outlines(grid: Grid, values: Float32Array, leastValue: number): [number, number][][][] {
  const { cols, rows, cellM } = grid;
  const known = Array.from(values, (v) => (Number.isNaN(v) ? Number.NEGATIVE_INFINITY : v));
  const [shape] = isobands().size([cols, rows]).smooth(false).thresholds([leastValue])(known);
  return (shape?.coordinates ?? []).map((polygon) =>
    polygon.map((ring) => ring.map(([x, y]): [number, number] => [grid.westM + x! * cellM, grid.northM - y! * cellM])),
  );
}
