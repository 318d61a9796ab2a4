/**
 * Kernels of reprojection. A tile of the working grid is filled from a window of one raster; where the raster's column
 * and row of each cell lie is interpolated between nodes. Typed arrays in, `out` filled; NaN is void.
 */

/** A tile of the working grid and the nodes that place it on the raster. */
export interface TileGeometry {
  /** First column and row of the tile in the grid, its size, and the grid's columns. */
  col0: number;
  row0: number;
  cols: number;
  rows: number;
  stride: number;
  /** Cells between nodes; nodes run over the tile row by row, `nodeCols` in a row. */
  step: number;
  nodeCols: number;
  nodeC: Float64Array;
  nodeR: Float64Array;
}

/** A window of a raster (or of one of its overviews), row-major. */
export interface RasterWindow {
  values: Float32Array;
  col0: number;
  row0: number;
  cols: number;
  rows: number;
  /** Size of the raster or overview the window is from. */
  width: number;
  height: number;
}

/**
 * Bilinear heights at cell centres, into cells of `out` that are still void. A void neighbour of any weight gives void;
 * half a cell beyond the raster's outermost centres the outermost value holds, unless the window knows a neighbour there.
 * @returns number of cells filled
 */
export function bilinearTile(
  t: TileGeometry,
  w: RasterWindow,
  out: Float32Array,
  source: Uint8Array,
  sourceId: number,
): number {
  const { step, nodeCols, nodeC, nodeR } = t;
  const { values, cols: wc, rows: wr, width, height } = w;
  const maxC = width - 0.5;
  const maxR = height - 0.5;
  let filled = 0;
  for (let j = 0; j < t.rows; j++) {
    const nj = (j / step) | 0;
    const fj = (j - nj * step) / step;
    for (let i = 0; i < t.cols; i++) {
      const index = (t.row0 + j) * t.stride + t.col0 + i;
      const there = out[index]!;
      if (!Number.isNaN(there)) continue;
      const ni = (i / step) | 0;
      const fi = (i - ni * step) / step;
      const n = nj * nodeCols + ni;
      const ct = nodeC[n]! + (nodeC[n + 1]! - nodeC[n]!) * fi;
      const cb = nodeC[n + nodeCols]! + (nodeC[n + nodeCols + 1]! - nodeC[n + nodeCols]!) * fi;
      const rt = nodeR[n]! + (nodeR[n + 1]! - nodeR[n]!) * fi;
      const rb = nodeR[n + nodeCols]! + (nodeR[n + nodeCols + 1]! - nodeR[n + nodeCols]!) * fi;
      const c = ct + (cb - ct) * fj;
      const r = rt + (rb - rt) * fj;
      if (!(c >= -0.5 && r >= -0.5 && c <= maxC && r <= maxR)) continue;
      let c0 = Math.floor(c);
      let r0 = Math.floor(r);
      let fc = c - c0;
      let fr = r - r0;
      // A hundred-thousandth of a cell is rounding, and must not drag a void neighbour in.
      if (fc < 1e-5) fc = 0;
      else if (fc > 1 - 1e-5) {
        fc = 0;
        c0++;
      }
      if (fr < 1e-5) fr = 0;
      else if (fr > 1 - 1e-5) {
        fr = 0;
        r0++;
      }
      const x = c0 - w.col0;
      const y = r0 - w.row0;
      if (x < 0 || y < 0 || x >= wc || y >= wr || (fc > 0 && x + 1 >= wc) || (fr > 0 && y + 1 >= wr)) continue;
      const at = y * wc + x;
      let a = values[at]!;
      let b = fc > 0 ? values[at + 1]! : a;
      let d = fr > 0 ? values[at + wc]! : a;
      let e = fc > 0 && fr > 0 ? values[at + wc + 1]! : fr > 0 ? d : b;
      if (c0 < 0) {
        if (Number.isNaN(a)) a = b;
        if (Number.isNaN(d)) d = e;
      }
      if (c0 + 1 >= width) {
        if (Number.isNaN(b)) b = a;
        if (Number.isNaN(e)) e = d;
      }
      if (r0 < 0) {
        if (Number.isNaN(a)) a = d;
        if (Number.isNaN(b)) b = e;
      }
      if (r0 + 1 >= height) {
        if (Number.isNaN(d)) d = a;
        if (Number.isNaN(e)) e = b;
      }
      const top = a + (b - a) * fc;
      const bottom = d + (e - d) * fc;
      const z = top + (bottom - top) * fr;
      if (Number.isNaN(z)) continue;
      out[index] = z;
      source[index] = sourceId;
      filled++;
    }
  }
  return filled;
}

/**
 * Greatest valid height of all raster cells that a grid cell overlaps, into cells of `out` that are still void.
 * @param factor  overview factor of the window
 * @param halfC   half a grid cell in full raster columns; halfR likewise in rows
 * @returns number of cells filled
 */
export function maxTile(
  t: TileGeometry,
  w: RasterWindow,
  factor: number,
  halfC: number,
  halfR: number,
  out: Float32Array,
  source: Uint8Array,
  sourceId: number,
): number {
  const { step, nodeCols, nodeC, nodeR } = t;
  const { values, cols: wc, rows: wr } = w;
  const hc = halfC / factor + 0.5 - 1e-6;
  const hr = halfR / factor + 0.5 - 1e-6;
  let filled = 0;
  for (let j = 0; j < t.rows; j++) {
    const nj = (j / step) | 0;
    const fj = (j - nj * step) / step;
    for (let i = 0; i < t.cols; i++) {
      const index = (t.row0 + j) * t.stride + t.col0 + i;
      const there = out[index]!;
      if (!Number.isNaN(there)) continue;
      const ni = (i / step) | 0;
      const fi = (i - ni * step) / step;
      const n = nj * nodeCols + ni;
      const ct = nodeC[n]! + (nodeC[n + 1]! - nodeC[n]!) * fi;
      const cb = nodeC[n + nodeCols]! + (nodeC[n + nodeCols + 1]! - nodeC[n + nodeCols]!) * fi;
      const rt = nodeR[n]! + (nodeR[n + 1]! - nodeR[n]!) * fi;
      const rb = nodeR[n + nodeCols]! + (nodeR[n + nodeCols + 1]! - nodeR[n + nodeCols]!) * fi;
      const c = (ct + (cb - ct) * fj + 0.5) / factor - 0.5 - w.col0;
      const r = (rt + (rb - rt) * fj + 0.5) / factor - 0.5 - w.row0;
      const x0 = Math.max(0, Math.ceil(c - hc));
      const x1 = Math.min(wc - 1, Math.floor(c + hc));
      const y0 = Math.max(0, Math.ceil(r - hr));
      const y1 = Math.min(wr - 1, Math.floor(r + hr));
      let best = Number.NEGATIVE_INFINITY;
      for (let y = y0; y <= y1; y++)
        for (let x = x0; x <= x1; x++) {
          const z = values[y * wc + x]!;
          if (z > best) best = z;
        }
      if (best === Number.NEGATIVE_INFINITY) continue;
      out[index] = best;
      source[index] = sourceId;
      filled++;
    }
  }
  return filled;
}

/**
 * The value of the nearest raster cell, for class codes, into cells of `out` that are still void.
 * @returns number of cells filled
 */
export function nearestTile(
  t: TileGeometry,
  w: RasterWindow,
  out: Float32Array,
  source: Uint8Array,
  sourceId: number,
): number {
  const { step, nodeCols, nodeC, nodeR } = t;
  let filled = 0;
  for (let j = 0; j < t.rows; j++) {
    const nj = (j / step) | 0;
    const fj = (j - nj * step) / step;
    for (let i = 0; i < t.cols; i++) {
      const index = (t.row0 + j) * t.stride + t.col0 + i;
      if (!Number.isNaN(out[index]!)) continue;
      const ni = (i / step) | 0;
      const fi = (i - ni * step) / step;
      const n = nj * nodeCols + ni;
      const ct = nodeC[n]! + (nodeC[n + 1]! - nodeC[n]!) * fi;
      const cb = nodeC[n + nodeCols]! + (nodeC[n + nodeCols + 1]! - nodeC[n + nodeCols]!) * fi;
      const rt = nodeR[n]! + (nodeR[n + 1]! - nodeR[n]!) * fi;
      const rb = nodeR[n + nodeCols]! + (nodeR[n + nodeCols + 1]! - nodeR[n + nodeCols]!) * fi;
      const x = Math.round(ct + (cb - ct) * fj) - w.col0;
      const y = Math.round(rt + (rb - rt) * fj) - w.row0;
      if (x < 0 || y < 0 || x >= w.cols || y >= w.rows) continue;
      const z = w.values[y * w.cols + x]!;
      if (Number.isNaN(z)) continue;
      out[index] = z;
      source[index] = sourceId;
      filled++;
    }
  }
  return filled;
}
