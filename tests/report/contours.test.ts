import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import { contourLines, contourStep, outlines, reduce } from "../../src/report/contours.ts";
import type { Grid } from "../../src/terrain/scene.ts";
import { needs } from "../support/tools.ts";

const grid: Grid = { westM: -70, northM: 55, cellM: 2, cols: 61, rows: 41 };
const fill = (f: (x: number, y: number) => number, g: Grid = grid): Float32Array => {
  const out = new Float32Array(g.cols * g.rows);
  for (let r = 0; r < g.rows; r++)
    for (let c = 0; c < g.cols; c++)
      out[r * g.cols + c] = f(g.westM + (c + 0.5) * g.cellM, g.northM - (r + 0.5) * g.cellM);
  return out;
};

test("a tilted plane gives straight lines at the right places, open at the edge", () => {
  const lines = contourLines(
    grid,
    fill((x) => x / 10 + 0.03),
    1,
  );
  expect(lines.map((l) => l.heightM)).toEqual([-6, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5]);
  for (const line of lines) {
    for (const [x] of line.points) expect(x).toBeCloseTo((line.heightM - 0.03) * 10, 3);
    const ys = line.points.map((p) => p[1]);
    expect(Math.max(...ys)).toBe(54);
    expect(Math.min(...ys)).toBe(-26);
  }
});

test("a cone gives one closed ring for each level, all points at its radius", () => {
  const lines = contourLines(
    grid,
    fill((x, y) => 30 - Math.hypot(x + 10, y - 13)),
    5,
  );
  const rings = lines.filter((l) => l.heightM >= 0);
  expect(rings.map((l) => l.heightM)).toEqual([0, 5, 10, 15, 20, 25]);
  for (const { heightM, points } of rings) {
    expect(points[0]).toEqual(points.at(-1));
    // Straight interpolation of a cone between centres 2 m apart: the sagitta of the finest ring, 2²/(8·5) m.
    for (const [x, y] of points) expect(Math.abs(Math.hypot(x + 10, y - 13) - (30 - heightM))).toBeLessThan(0.11);
  }
});

test("a void is never drawn over, nor along", () => {
  const values = fill((x) => x / 10);
  for (let r = 10; r < 20; r++) for (let c = 20; c < 40; c++) values[r * grid.cols + c] = Number.NaN;
  const [west, east] = [grid.westM + 19.5 * 2, grid.westM + 40.5 * 2];
  const [north, south] = [grid.northM - 9.5 * 2, grid.northM - 20.5 * 2];
  for (const { points } of contourLines(grid, values, 1))
    for (const [x, y] of points)
      expect(x > west + 1e-6 && x < east - 1e-6 && y < north - 1e-6 && y > south + 1e-6).toBe(false);
});

test("every point of every line lies where its height is (any ground)", () => {
  const small: Grid = { westM: 0, northM: 0, cellM: 1, cols: 7, rows: 5 };
  fc.assert(
    fc.property(fc.array(fc.integer({ min: -8, max: 8 }), { minLength: 35, maxLength: 35 }), (heights) => {
      const values = Float32Array.from(heights, (h) => h / 2);
      let segments = 0;
      for (const { heightM, points } of contourLines(small, values, 1)) {
        segments += points.length - 1;
        for (const [x, y] of points) {
          const [c, r] = [x - 0.5, -y - 0.5];
          const [c0, r0] = [Math.floor(c), Math.floor(r)];
          const [c1, r1] = [Math.ceil(c), Math.ceil(r)];
          // A point lies on the side between two centres.
          expect(c0 === c1 || r0 === r1).toBe(true);
          const share = c0 === c1 ? r - r0 : c - c0;
          const at = values[r0 * 7 + c0]! * (1 - share) + values[r1 * 7 + c1]! * share;
          expect(Math.abs(at - heightM)).toBeLessThan(1e-6);
        }
      }
      // Each side crossed once by a level is an end of at most two segments: none is lost, none drawn twice.
      let crossings = 0;
      for (let r = 0; r < 4; r++)
        for (let c = 0; c < 6; c++) {
          const q = [
            values[r * 7 + c]!,
            values[r * 7 + c + 1]!,
            values[(r + 1) * 7 + c + 1]!,
            values[(r + 1) * 7 + c]!,
          ];
          for (let h = Math.floor(Math.min(...q)) + 1; h <= Math.max(...q); h++) {
            const over = q.map((v) => v >= h);
            crossings += over.filter((v, k) => v !== over[(k + 1) % 4]).length / 2;
          }
        }
      expect(segments).toBe(crossings);
    }),
    { seed: 20260912, numRuns: 300 },
  );
});

test("the total length of each level agrees with gdal_contour", { timeout: 60_000 }, () => {
  if (!needs("gdal_contour")) return;
  const folder = mkdtempSync(join(tmpdir(), "hs-contour-"));
  try {
    const g: Grid = { westM: 0, northM: 0, cellM: 1, cols: 80, rows: 50 };
    const values = fill((x, y) => 20 * Math.sin(x / 11) * Math.cos(y / 7) + x / 5 + 0.013, g);
    const rows = Array.from({ length: g.rows }, (_, r) => [...values.subarray(r * g.cols, (r + 1) * g.cols)].join(" "));
    writeFileSync(
      join(folder, "in.asc"),
      `ncols 80\nnrows 50\nxllcorner 0\nyllcorner -50\ncellsize 1\n${rows.join("\n")}\n`,
    );
    const run = spawnSync("gdal_contour", ["-q", "-i", "5", "-a", "h", "-f", "GeoJSON", "in.asc", "out.json"], {
      cwd: folder,
      timeout: 30_000,
    });
    expect(run.status).toBe(0);
    const length = (points: number[][]) =>
      points.slice(1).reduce((sum, p, k) => sum + Math.hypot(p[0]! - points[k]![0]!, p[1]! - points[k]![1]!), 0);
    const add = (map: Map<number, number>, h: number, points: number[][]) =>
      map.set(h, (map.get(h) ?? 0) + length(points));
    const theirs = new Map<number, number>();
    // gdal_contour goes on half a cell beyond the outermost centres; ours stays where heights are known.
    const inside = (p: number[]) => [Math.min(Math.max(p[0]!, 0.5), 79.5), Math.min(Math.max(p[1]!, -49.5), -0.5)];
    for (const f of JSON.parse(readFileSync(join(folder, "out.json"), "utf8")).features)
      add(theirs, f.properties.h, f.geometry.coordinates.map(inside));
    const ours = new Map<number, number>();
    for (const line of contourLines(g, values, 5)) add(ours, line.heightM, line.points);
    expect([...ours.keys()].sort((a, b) => a - b)).toEqual([...theirs.keys()].sort((a, b) => a - b));
    // Saddles may be joined the other way; over a whole level that is far below one part in a hundred.
    for (const [h, l] of ours) expect(Math.abs(l - theirs.get(h)!) / l, `${h} m`).toBeLessThan(0.01);
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test("the step is the finest usual one with at most thirty levels", () => {
  expect(contourStep(410, 412)).toBe(0.5);
  expect(contourStep(400, 460)).toBe(2);
  expect(contourStep(0, 3000)).toBe(100);
  expect(contourStep(-400, 8800)).toBe(500);
});

test("a reduction takes whole blocks, keeps places, and a void makes its block void", () => {
  const values = fill((x, y) => x + 10 * y);
  values[0] = Number.NaN;
  const r = reduce(grid, values, 20);
  expect([r.grid.cols, r.grid.rows, r.grid.cellM]).toEqual([15, 10, 8]);
  expect(r.values[0]).toBeNaN();
  expect(r.values[1]).toBeCloseTo(grid.westM + 1.5 * 8 + 10 * (grid.northM - 0.5 * 8), 3);
});

test("outlines go round the cells, with holes, in the frame's metres", () => {
  const g: Grid = { westM: 100, northM: 50, cellM: 5, cols: 8, rows: 6 };
  const values = new Float32Array(48);
  for (let r = 1; r < 5; r++) for (let c = 2; c < 7; c++) values[r * 8 + c] = 9;
  values[2 * 8 + 4] = Number.NaN;
  const [polygon, ...more] = outlines(g, values, 2);
  expect(more).toEqual([]);
  expect(polygon).toHaveLength(2);
  const xs = polygon![0]!.map((p) => p[0]);
  const ys = polygon![0]!.map((p) => p[1]);
  expect([Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)]).toEqual([110, 135, 25, 45]);
});
