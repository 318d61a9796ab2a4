import type { Grid } from "../terrain/scene.ts";
import { type Polygon, segmentMeetsRect, turnedRect } from "./plane.ts";

/** Rows and columns of the cells whose centres lie within `reachM` of a box; clipped to the grid. */
function span(grid: Grid, west: number, south: number, east: number, north: number, reachM: number) {
  const c0 = Math.max(0, Math.ceil((west - reachM - grid.westM) / grid.cellM - 0.5));
  const c1 = Math.min(grid.cols - 1, Math.floor((east + reachM - grid.westM) / grid.cellM - 0.5));
  const r0 = Math.max(0, Math.ceil((grid.northM - north - reachM) / grid.cellM - 0.5));
  const r1 = Math.min(grid.rows - 1, Math.floor((grid.northM - south + reachM) / grid.cellM - 0.5));
  return { c0, c1, r0, r1 };
}

/** Calls `mark(index)` for every cell whose centre lies inside the polygon (even-odd scan line, exact at centres). */
export function scanPolygon(grid: Grid, polygon: Polygon, mark: (index: number) => void): void {
  const outer = polygon[0];
  if (!outer) return;
  let south = Number.POSITIVE_INFINITY;
  let north = Number.NEGATIVE_INFINITY;
  for (const [, y] of outer) {
    south = Math.min(south, y);
    north = Math.max(north, y);
  }
  const { r0, r1 } = span(grid, 0, south, 0, north, 0);
  const crossings: number[] = [];
  for (let row = r0; row <= r1; row++) {
    const y = grid.northM - (row + 0.5) * grid.cellM;
    crossings.length = 0;
    for (const ring of polygon) {
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        const [xi, yi] = ring[i]!;
        const [xj, yj] = ring[j]!;
        if (yi > y !== yj > y) crossings.push(((xj - xi) * (y - yi)) / (yj - yi) + xi);
      }
    }
    crossings.sort((a, b) => a - b);
    for (let k = 0; k + 1 < crossings.length; k += 2) {
      const c0 = Math.max(0, Math.ceil((crossings[k]! - grid.westM) / grid.cellM - 0.5));
      const c1 = Math.min(grid.cols - 1, Math.ceil((crossings[k + 1]! - grid.westM) / grid.cellM - 0.5) - 1);
      for (let col = c0; col <= c1; col++) mark(row * grid.cols + col);
    }
  }
}

/** Calls `mark` for every cell where a footprint centred on it would touch any edge of the polygon. */
export function scanTouchingEdges(
  grid: Grid,
  polygon: Polygon,
  footprint: { lengthM: number; widthM: number; headingDeg: number },
  mark: (index: number) => void,
): void {
  const reach = Math.hypot(footprint.lengthM, footprint.widthM) / 2;
  const rect = turnedRect({ xM: 0, yM: 0 }, footprint.lengthM, footprint.widthM, footprint.headingDeg);
  for (const ring of polygon)
    for (let i = 1; i < ring.length; i++) {
      const a = ring[i - 1]!;
      const b = ring[i]!;
      forCellsNearSegment(grid, a, b, reach, (index, xM, yM) => {
        rect.xM = xM;
        rect.yM = yM;
        if (segmentMeetsRect(a, b, rect)) mark(index);
      });
    }
}

/** Calls `visit` for every cell whose centre is within `reachM` of the segment's box, row band by row band. */
export function forCellsNearSegment(
  grid: Grid,
  a: readonly [number, number],
  b: readonly [number, number],
  reachM: number,
  visit: (index: number, xM: number, yM: number) => void,
): void {
  const south = Math.min(a[1], b[1]);
  const north = Math.max(a[1], b[1]);
  const { r0, r1 } = span(grid, 0, south, 0, north, reachM);
  const dy = b[1] - a[1];
  for (let row = r0; row <= r1; row++) {
    const y = grid.northM - (row + 0.5) * grid.cellM;
    // The part of the segment whose y lies within reach of this row bounds the columns worth looking at.
    let x0 = Math.min(a[0], b[0]);
    let x1 = Math.max(a[0], b[0]);
    if (dy !== 0) {
      const t0 = Math.min(1, Math.max(0, (y - reachM - a[1]) / dy));
      const t1 = Math.min(1, Math.max(0, (y + reachM - a[1]) / dy));
      const xa = a[0] + (b[0] - a[0]) * t0;
      const xb = a[0] + (b[0] - a[0]) * t1;
      x0 = Math.min(xa, xb);
      x1 = Math.max(xa, xb);
    }
    const c0 = Math.max(0, Math.ceil((x0 - reachM - grid.westM) / grid.cellM - 0.5));
    const c1 = Math.min(grid.cols - 1, Math.floor((x1 + reachM - grid.westM) / grid.cellM - 0.5));
    for (let col = c0; col <= c1; col++) visit(row * grid.cols + col, grid.westM + (col + 0.5) * grid.cellM, y);
  }
}

/** Marks every cell where a footprint centred on it would overlap the polygon. */
export function scanOverlap(
  grid: Grid,
  polygon: Polygon,
  footprint: { lengthM: number; widthM: number; headingDeg: number },
  mark: (index: number) => void,
): void {
  scanPolygon(grid, polygon, mark);
  scanTouchingEdges(grid, polygon, footprint, mark);
}
