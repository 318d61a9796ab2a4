import type { Grid } from "./scene.ts";

/**
 * Whether a void cell lies in a gap no wider than three cells along a row, a column or a diagonal.
 * Three, since a gap of two raster cells is three wide once resampled without blending voids.
 */
function inNarrowGap(v: Float32Array, col: number, row: number, cols: number, rows: number): boolean {
  const known = (dx: number, dy: number): boolean => {
    const x = col + dx;
    const y = row + dy;
    return x >= 0 && y >= 0 && x < cols && y < rows && !Number.isNaN(v[y * cols + x]!);
  };
  for (const [dx, dy] of [
    [1, 0],
    [0, 1],
    [1, 1],
    [1, -1],
  ] as const) {
    const ahead = known(dx, dy) ? 1 : known(2 * dx, 2 * dy) ? 2 : known(3 * dx, 3 * dy) ? 3 : 9;
    const back = known(-dx, -dy) ? 1 : known(-2 * dx, -2 * dy) ? 2 : known(-3 * dx, -3 * dy) ? 3 : 9;
    if (ahead + back <= 4) return true;
  }
  return false;
}

/**
 * Closes narrow gaps of a surface where the ground is known: a cell in a gap up to three cells wide takes the greatest
 * known height within three cells, so that nothing beside it is hidden. Wider voids stay unknown.
 * @returns share of the grid that was closed, and share still void though the ground is known
 */
export function closeNarrowGaps(
  surfaceM: Float32Array,
  groundM: Float32Array,
  grid: Grid,
): { closedShare: number; voidShare: number } {
  const { cols, rows } = grid;
  const closed: { at: number; heightM: number }[] = [];
  let open = 0;
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < cols; c++) {
      const i = r * cols + c;
      if (!Number.isNaN(surfaceM[i]!) || Number.isNaN(groundM[i]!)) continue;
      open++;
      if (!inNarrowGap(surfaceM, c, r, cols, rows)) continue;
      let best = groundM[i]!;
      for (let y = Math.max(0, r - 3); y <= Math.min(rows - 1, r + 3); y++)
        for (let x = Math.max(0, c - 3); x <= Math.min(cols - 1, c + 3); x++) {
          const z = surfaceM[y * cols + x]!;
          if (z > best) best = z;
        }
      closed.push({ at: i, heightM: best });
    }
  for (const { at, heightM } of closed) surfaceM[at] = heightM;
  const n = cols * rows;
  return { closedShare: closed.length / n, voidShare: (open - closed.length) / n };
}

interface Level {
  values: Float32Array;
  cols: number;
  rows: number;
}

function halve({ values, cols, rows }: Level): Level {
  const c2 = Math.ceil(cols / 2);
  const r2 = Math.ceil(rows / 2);
  const out = new Float32Array(c2 * r2);
  for (let r = 0; r < r2; r++)
    for (let c = 0; c < c2; c++) {
      let sum = 0;
      let n = 0;
      for (let y = 2 * r; y < Math.min(rows, 2 * r + 2); y++)
        for (let x = 2 * c; x < Math.min(cols, 2 * c + 2); x++) {
          const z = values[y * cols + x]!;
          if (Number.isNaN(z)) continue;
          sum += z;
          n++;
        }
      out[r * c2 + c] = n === 0 ? Number.NaN : sum / n;
    }
  return { values: out, cols: c2, rows: r2 };
}

/** Fills a level's voids from the filled level above it, bilinearly. */
function fillFrom(level: Level, above: Level): void {
  for (let r = 0; r < level.rows; r++)
    for (let c = 0; c < level.cols; c++) {
      const i = r * level.cols + c;
      if (!Number.isNaN(level.values[i]!)) continue;
      const x = Math.min(Math.max(c / 2 - 0.25, 0), above.cols - 1);
      const y = Math.min(Math.max(r / 2 - 0.25, 0), above.rows - 1);
      const x0 = Math.floor(x);
      const y0 = Math.floor(y);
      const at = (a: number, b: number) =>
        above.values[Math.min(b, above.rows - 1) * above.cols + Math.min(a, above.cols - 1)]!;
      const top = at(x0, y0) * (1 - (x - x0)) + at(x0 + 1, y0) * (x - x0);
      const bottom = at(x0, y0 + 1) * (1 - (x - x0)) + at(x0 + 1, y0 + 1) * (x - x0);
      level.values[i] = top * (1 - (y - y0)) + bottom * (y - y0);
    }
}

/**
 * Estimates ground where it is void but the surface is known (bare-earth rasters often have holes under buildings):
 * averages of ever larger surroundings, never above the surface. Elsewhere void ground stays void.
 * Source of the scheme: pull-push, S. J. Gortler et al., "The Lumigraph", SIGGRAPH 1996, §3.5.
 * @returns 1 for each cell estimated, and their share of the grid; null when there was nothing to do
 */
export function fillGroundUnderSurface(
  groundM: Float32Array,
  surfaceM: Float32Array,
  grid: Grid,
): { filled: Uint8Array; share: number } | null {
  const wanted: number[] = [];
  let known = 0;
  for (let i = 0; i < groundM.length; i++) {
    if (!Number.isNaN(groundM[i]!)) known++;
    else if (!Number.isNaN(surfaceM[i]!)) wanted.push(i);
  }
  if (wanted.length === 0 || known === 0) return null;
  const levels: Level[] = [{ values: groundM.slice(), cols: grid.cols, rows: grid.rows }];
  while (levels.at(-1)!.cols > 1 || levels.at(-1)!.rows > 1) levels.push(halve(levels.at(-1)!));
  for (let k = levels.length - 2; k >= 0; k--) fillFrom(levels[k]!, levels[k + 1]!);
  const filled = new Uint8Array(new SharedArrayBuffer(groundM.length));
  for (const i of wanted) {
    groundM[i] = Math.min(levels[0]!.values[i]!, surfaceM[i]!);
    filled[i] = 1;
  }
  return { filled, share: wanted.length / groundM.length };
}
