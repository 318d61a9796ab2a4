import fc from "fast-check";
import { expect, test } from "vitest";
import { clearanceMap, dishSettings, neededHeightMap, viewFromSpot } from "../../src/satellite/index.ts";
import { shadowSweep, transpose } from "../../src/satellite/shadow.kernel.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import { delftScene, hoodScene } from "../support/rasters.ts";
import { box, makeScene } from "../support/scenes.ts";
import { hasShared, needs } from "../support/tools.ts";

const dish = dishSettings({ diameterM: 0.9, eyeHeightM: 1.6 });
const when = { date: "2026-09-12", declinationDeg: 0, model: "test" };
const origin = { lng: -97, lat: 42 };

/** Shadow height at a cell by marching towards the satellite over the straight line itself: linear between cells of a row. */
function marchShadow(
  z: Float32Array,
  cols: number,
  rows: number,
  col: number,
  row: number,
  step: number,
  shift: number,
  drop: number,
): number {
  let best = -1e9;
  let x = col;
  let fall = 0;
  for (let r = row - step; r >= 0 && r < rows; r -= step) {
    x -= shift;
    fall += drop;
    const j = Math.floor(x);
    const f = x - j;
    if (j < 0 || j + 1 > cols || (f > 0 && j + 1 >= cols)) break;
    best = Math.max(best, (1 - f) * z[r * cols + j]! + (f === 0 ? 0 : f * z[r * cols + j + 1]!) - fall);
  }
  return best;
}

test("the shadow sweep is the straight march where lines meet cells, and near it elsewhere", () => {
  const [cols, rows] = [60, 45];
  for (const [first, step] of [
    [0, 1],
    [rows - 1, -1],
  ] as const)
    for (const shift of [0, 1, -1, 0.37, -0.81]) {
      const z = new Float32Array(cols * rows).map((_, i) => Math.sin(i * 12.9898) * 20 + Math.sin((i % cols) / 7) * 15);
      const out = new Float32Array(cols * rows);
      const drop = new Float64Array(rows).fill(0.9);
      shadowSweep(
        z,
        cols,
        rows,
        first,
        drop,
        new Float64Array(rows).fill(shift),
        0,
        0,
        new Float32Array(cols + rows + 8),
        out,
      );
      let agree = 0;
      let all = 0;
      for (let row = 0; row < rows; row++)
        for (let col = 22; col < 38; col++) {
          const brute = marchShadow(z, cols, rows, col, row, step, shift, 0.9);
          if (brute < -1e8) continue;
          const found = out[row * cols + col]!;
          // Lines of whole shift pass through cell centres: the same sums, but for float32.
          if (Number.isInteger(shift)) expect(Math.abs(found - brute)).toBeLessThan(1e-3);
          all++;
          if (z[row * cols + col]! + 2 > found === z[row * cols + col]! + 2 > brute) agree++;
        }
      expect(agree / all).toBeGreaterThan(0.85); // white noise of 20 m per cell: the roughest case there is
    }
});

test("voids hide nothing and spoil nothing", () => {
  const z = new Float32Array(50).fill(5);
  z[7] = Number.NaN;
  const out = new Float32Array(50);
  shadowSweep(
    z,
    5,
    10,
    0,
    new Float64Array(10).fill(1),
    new Float64Array(10).fill(0.3),
    0,
    1,
    new Float32Array(24),
    out,
  );
  expect([...out].every((v) => Number.isFinite(v))).toBe(true);
});

test("transpose twice is nothing", () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 70 }), fc.integer({ min: 1, max: 70 }), (cols, rows) => {
      const a = new Float32Array(cols * rows).map((_, i) => i);
      const b = new Float32Array(cols * rows);
      const c = new Float32Array(cols * rows);
      transpose(a, cols, rows, b);
      transpose(b, rows, cols, c);
      expect(b[(cols - 1) * rows]).toBe(cols - 1);
      expect([...c]).toEqual([...a]);
    }),
    { numRuns: 30 },
  );
});

interface Tally {
  cells: number;
  differ: number;
  /** The map says clear, the exact tube does not. */
  bold: number;
}

/** Map against the exact tube on random cells; only where the tube stays over the scene's own data. */
function compare(scene: Scene, satelliteDeg: number, count: number): Tally {
  const { grid } = scene;
  const map = clearanceMap(scene, { ...origin, heightM: 0 }, satelliteDeg, dish);
  const tally = { cells: 0, differ: 0, bold: 0 };
  let seed = 11;
  const random = () => {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    return seed / 4294967296;
  };
  for (let tries = 0; tally.cells < count && tries < 20 * count; tries++) {
    const col = Math.floor(random() * grid.cols);
    const row = Math.floor(random() * grid.rows);
    const i = row * grid.cols + col;
    if (Number.isNaN(scene.groundM[i]!) || (scene.buildingAt?.[i] ?? 0) > 0) continue;
    const place = scene.frame.toLngLat({
      xM: grid.westM + (col + 0.5) * grid.cellM,
      yM: grid.northM - (row + 0.5) * grid.cellM,
    });
    let exact: boolean | null;
    try {
      exact = viewFromSpot(scene, { place }, dish, [{ id: "s", longitudeDeg: satelliteDeg }], when)[0]!.clear;
    } catch {
      continue; // inside an outline
    }
    const hard = map.clearanceDeg[i]!;
    if (exact === null || Number.isNaN(hard)) continue;
    const soft = map.treeClearanceDeg?.[i] ?? 90;
    const clear = hard >= dish.marginDeg && soft >= dish.treeMarginDeg;
    tally.cells++;
    if (clear !== exact) tally.differ++;
    if (clear && !exact) tally.bold++;
  }
  return tally;
}

test("screening agrees with the exact tube on made-up ground: prism, tree row, ridge, from every side", () => {
  const scene = makeScene({
    cols: 221,
    rows: 221,
    canopy: (x, y) => (y > 30 && y < 36 && x > -60 && x < 40 ? 11 : 0),
    ground: (x, y) => 100 + 4 * Math.sin(x / 23) + 3 * Math.cos(y / 31),
    buildings: [
      { id: "a", ring: box(-20, -25, 5, -10), heightM: 12 },
      { id: "b", ring: box(30, -60, 42, -20), heightM: 20 },
    ],
  });
  for (const satellite of [-97, -60, -140, -119]) {
    const tally = compare(scene, satellite, 400);
    expect(tally.cells).toBeGreaterThan(300);
    // Outlines are burned by cell centre: half a cell either way at an edge of visibility.
    expect(tally.bold / tally.cells).toBeLessThanOrEqual(0.01);
    expect(tally.differ / tally.cells).toBeLessThan(0.04);
  }
});

test("screening agrees with the exact tube on real ground: Delft's outlines, Mt Hood", () => {
  if (!hasShared() || !needs("gdalinfo")) return;
  const delft = compare(delftScene(1, true), 19.2, 600);
  expect(delft.bold / delft.cells).toBeLessThanOrEqual(0.005);
  expect(delft.differ / delft.cells).toBeLessThan(0.03);
  const hood = compare(hoodScene(600, 500), -97, 600);
  expect(hood.bold / hood.cells).toBeLessThanOrEqual(0.01);
  expect(hood.differ / hood.cells).toBeLessThan(0.02);
});

test("needed height: at that height the exact tube is free, well below it it is not", () => {
  const scene = makeScene({ buildings: [{ id: "hall", ring: box(-40, -30, 40, -18), heightM: 15 }] });
  const need = neededHeightMap(scene, origin, -97, dish);
  const { grid } = scene;
  const clearAt = (col: number, row: number, eyeHeightM: number) =>
    viewFromSpot(
      scene,
      { place: scene.frame.toLngLat({ xM: grid.westM + col + 0.5, yM: grid.northM - row - 0.5 }), eyeHeightM },
      dish,
      [{ id: "s", longitudeDeg: -97 }],
      when,
    )[0]!.clear;
  for (const [col, row] of [
    [100, 100],
    [100, 110],
    [90, 105],
    [110, 104],
  ] as const) {
    const h = need.neededM[row * grid.cols + col]!;
    expect(h).toBeGreaterThan(1);
    // Half a cell at the wall's edge, times tan(36.7°).
    expect(clearAt(col, row, h + 0.4)).toBe(true);
    expect(clearAt(col, row, h - 1.5)).toBe(false);
  }
  expect(need.neededM[10 * grid.cols + 100]!).toBeLessThan(0.6);
});

test("a mask limits the work and leaves the rest unknown; cells in buildings are never clear; bare ground has no tree layer", () => {
  const scene = makeScene({ buildings: [{ id: "hall", ring: box(-10, -10, 10, 10), heightM: 8 }] });
  const mask = new Uint8Array(scene.grid.cols * scene.grid.rows);
  mask[100 * 201 + 100] = 1;
  mask[60 * 201 + 100] = 1;
  const map = clearanceMap(scene, origin, -97, dish, { mask });
  expect(map.clearanceDeg.filter((v) => !Number.isNaN(v)).length).toBe(2);
  expect(map.clearanceDeg[100 * 201 + 100]!).toBeLessThan(-40);
  expect(clearanceMap(makeScene({ hasSurface: false }), origin, -97, dish).treeClearanceDeg).toBeNull();
  expect(() => clearanceMap(scene, origin, -97, dish, { shouldStop: () => true })).toThrowError(/cancelled/);
});
