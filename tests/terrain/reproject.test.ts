import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { createLocalFrame } from "../../src/geodesy/index.ts";
import { mosaic } from "../../src/terrain/reproject.ts";
import { type Grid, placeOf, sampleBilinear } from "../../src/terrain/scene.ts";
import { memoryRaster } from "../support/memory-raster.ts";

const UTM14 = "+proj=utm +zone=14 +datum=WGS84 +units=m +no_defs";
const frame = createLocalFrame({ lng: -98.5, lat: 41.64 });
// The frame's origin in zone 14, from PROJ 9.1.1 cs2cs: 541641.448 E, 4609927.823 N.
const E0 = 541_641.448;
const N0 = 4_609_927.823;
const grid = (over: Partial<Grid> = {}): Grid => ({
  westM: -150,
  northM: 100,
  cellM: 1,
  cols: 300,
  rows: 200,
  ...over,
});

/** Smooth hills in zone-14 metres. */
const hills = (x: number, y: number) => 400 + 8 * Math.sin(x / 37) + 6 * Math.cos(y / 29) + (x - E0) * 0.02;

function worst(g: Grid, heights: Float32Array, truth: (lng: number, lat: number) => number): number {
  let most = 0;
  for (let i = 0; i < heights.length; i += 7) {
    const place = frame.toLngLat(placeOf(g, i % g.cols, Math.floor(i / g.cols)));
    const z = heights[i]!;
    if (Number.isNaN(z)) return Number.NaN;
    most = Math.max(most, Math.abs(z - truth(place.lng, place.lat)));
  }
  return most;
}

describe("heights stand where they belong", () => {
  // A plane in raster coordinates is reproduced exactly by bilinear interpolation: what is left is the places' error.
  const plane = (x: number, y: number) => 400 + (x - E0) * 0.1 + (y - N0) * 0.05;
  const utm = memoryRaster({
    proj: UTM14,
    west: E0 - 400,
    north: N0 + 400,
    cell: 2,
    width: 400,
    height: 400,
    heights: plane,
  });
  const place = (lng: number, lat: number) => {
    const at = utm.toRaster({ lng, lat });
    return plane(E0 - 400 + (at.col + 0.5) * 2, N0 + 400 - (at.row + 0.5) * 2);
  };
  test.each([
    ["finer, offset, not square", grid()],
    ["the same posting", grid({ cellM: 2, westM: -99.3, northM: 77.7, cols: 90, rows: 60 })],
    ["coarser", grid({ cellM: 7.5, westM: -300, northM: 200, cols: 80, rows: 50 })],
    ["more than one tile", grid({ cellM: 0.5, westM: -150, northM: 120, cols: 600, rows: 400 })],
  ])("%s", async (_, g) => {
    const { heightsM, filled } = await mosaic(g, frame, [utm], "centre");
    expect(filled).toBe(g.cols * g.rows);
    // 0.01 cell of 2 m on a slope of 0.11, and float32 at 400 m.
    expect(worst(g, heightsM, place)).toBeLessThan(0.004);
  });
  test("degrees as well, cells far from square", async () => {
    const tilt = (lng: number, lat: number) => 300 + (lng + 98.5) * 5000 + (lat - 41.64) * 8000;
    const geo = memoryRaster({
      proj: "+proj=longlat +datum=WGS84 +no_defs",
      west: -98.51,
      north: 41.65,
      cell: [2e-5, 4e-5],
      width: 1000,
      height: 500,
      heights: tilt,
    });
    const g = grid();
    const { heightsM } = await mosaic(g, frame, [geo], "centre");
    expect(worst(g, heightsM, tilt)).toBeLessThan(0.005);
  });
});

test("the frame's origin falls on the cell PROJ puts it in", async () => {
  const spot = memoryRaster({
    proj: UTM14,
    west: E0 - 50.5,
    north: N0 + 50.5,
    cell: 1,
    width: 101,
    height: 101,
    heights: (x, y) => (Math.hypot(x - E0, y - N0) < 0.01 ? 9 : 0),
  });
  const g = grid({ westM: -10.5, northM: 10.5, cols: 21, rows: 21 });
  const { heightsM } = await mosaic(g, frame, [spot], "centre");
  expect(heightsM[10 * 21 + 10]).toBeCloseTo(9, 1);
});

test("a window is what bilinear sampling of the raster gives, hills and all", async () => {
  const r = memoryRaster({
    proj: UTM14,
    west: E0 - 200,
    north: N0 + 160,
    cell: 1,
    width: 400,
    height: 320,
    heights: hills,
  });
  const g = grid();
  const { heightsM } = await mosaic(g, frame, [r], "centre");
  const own: Grid = { westM: 0, northM: 0, cellM: 1, cols: 400, rows: 320 };
  for (let i = 0; i < heightsM.length; i += 13) {
    const at = r.toRaster(frame.toLngLat(placeOf(g, i % g.cols, Math.floor(i / g.cols))));
    expect(Math.abs(heightsM[i]! - sampleBilinear(own, r.values, at.col, at.row))).toBeLessThan(0.01);
  }
});

test("void never blends: heights beside a void are heights or void, and next rasters fill in", async () => {
  const holed = memoryRaster({
    file: "holed.tif",
    proj: UTM14,
    west: E0 - 200,
    north: N0 + 160,
    cell: 1,
    width: 400,
    height: 320,
    heights: (x, y) => (Math.hypot(x - E0, y - N0) < 30 ? Number.NaN : 500),
  });
  const g = grid();
  const alone = await mosaic(g, frame, [holed], "centre");
  for (const z of alone.heightsM) expect(Number.isNaN(z) || z === 500).toBe(true);
  const voids = alone.heightsM.filter(Number.isNaN).length;
  expect(voids).toBeGreaterThan(Math.PI * 30 * 30);
  expect(voids).toBeLessThan(Math.PI * 31.5 * 31.5);
  const base = memoryRaster({
    proj: UTM14,
    west: E0 - 500,
    north: N0 + 500,
    cell: 5,
    width: 200,
    height: 200,
    heights: () => 480,
  });
  const both = await mosaic(g, frame, [holed, base], "centre");
  expect(both.heightsM.filter((z) => z === 480).length).toBe(voids);
  expect(both.source.filter((s) => s === 2).length).toBe(voids);
  const other = await mosaic(g, frame, [base, holed], "centre");
  expect(other.heightsM.every((z) => z === 480)).toBe(true);
});

test("two tiles side by side give the heights of one raster: no seam", async () => {
  const whole = memoryRaster({
    proj: UTM14,
    west: E0 - 200,
    north: N0 + 160,
    cell: 1,
    width: 400,
    height: 320,
    heights: hills,
  });
  const half = (file: string, from: number, width: number) =>
    memoryRaster({
      file,
      proj: UTM14,
      west: E0 - 200 + from,
      north: N0 + 160,
      cell: 1,
      width,
      height: 320,
      heights: hills,
    });
  const g = grid();
  const one = await mosaic(g, frame, [whole], "centre");
  const two = await mosaic(g, frame, [half("w", 0, 190), half("e", 190, 210)], "centre");
  for (let i = 0; i < one.heightsM.length; i++)
    expect(Math.abs(one.heightsM[i]! - two.heightsM[i]!)).toBeLessThan(0.02);
});

test("the greatest height of a cell is kept when the grid is coarser: a wall one cell wide never vanishes", async () => {
  const wall = memoryRaster({
    proj: UTM14,
    west: E0 - 400,
    north: N0 + 400,
    cell: 0.5,
    width: 1600,
    height: 1600,
    heights: (x) => (Math.abs(x - E0) < 0.26 ? 420 : 400),
  });
  for (const cellM of [1, 3, 10, 25]) {
    const g = grid({ cellM, westM: -200, northM: 150, cols: Math.floor(400 / cellM), rows: Math.floor(300 / cellM) });
    const { heightsM } = await mosaic(g, frame, [wall], "greatest");
    for (let row = 0; row < g.rows; row++) {
      const line = heightsM.subarray(row * g.cols, (row + 1) * g.cols);
      const high = line.filter((z) => z === 420).length;
      expect(high).toBeGreaterThanOrEqual(1);
      expect(high).toBeLessThanOrEqual(3);
      expect(line.every((z) => z === 420 || z === 400)).toBe(true);
    }
  }
});

test("the greatest is never below any centre and never above the raster's own greatest nearby", () =>
  fc.assert(
    fc.asyncProperty(fc.integer({ min: 0, max: 1e6 }), fc.constantFrom(3, 5, 8, 20), async (seed, cellM) => {
      const noise = (x: number, y: number) => {
        const v = Math.sin(x * 12.9898 + y * 78.233 + seed) * 43758.5453;
        return 400 + 30 * (v - Math.floor(v));
      };
      const r = memoryRaster({
        proj: UTM14,
        west: E0 - 200,
        north: N0 + 200,
        cell: 1,
        width: 400,
        height: 400,
        heights: noise,
      });
      const g = grid({ cellM, westM: -100, northM: 80, cols: Math.floor(200 / cellM), rows: Math.floor(160 / cellM) });
      const high = (await mosaic(g, frame, [r], "greatest")).heightsM;
      const mid = (await mosaic(g, frame, [r], "centre")).heightsM;
      for (let i = 0; i < high.length; i++) {
        expect(high[i]!).toBeGreaterThanOrEqual(mid[i]! - 1e-3);
        const at = r.toRaster(frame.toLngLat(placeOf(g, i % g.cols, Math.floor(i / g.cols))));
        let most = Number.NEGATIVE_INFINITY;
        const reach = cellM; // half a cell and the overhang of one overview cell, with convergence
        for (let y = Math.floor(at.row - reach); y <= at.row + reach; y++)
          for (let x = Math.floor(at.col - reach); x <= at.col + reach; x++)
            most = Math.max(most, r.values[y * 400 + x]!);
        expect(high[i]!).toBeLessThanOrEqual(most);
      }
    }),
    { numRuns: 12, seed: 7 },
  ));
