import { expect, test } from "vitest";
import {
  createSweepOut,
  DEFAULT_EFFECTIVE_RADIUS_KM,
  HIDDEN,
  NOT_EVALUATED,
  sweepLoss,
  sweepVisible,
  VISIBILITY_UNKNOWN,
  VISIBLE,
} from "../../src/coverage/index.ts";
import { ruggedTerrain, terrainOf } from "../support/closed-form-terrain.ts";
import { oracleVisible } from "../support/visibility-oracle.ts";

const eyeAt = (col: number, row: number, eyeAmslM: number, targetHeightM = 2) => ({
  col,
  row,
  eyeAmslM,
  targetHeightM,
  maxRangeM: 1e9,
  mask: null,
});

test("over level ground the eye sees up to √(2ah₁) + √(2ah₂)", () => {
  const terrain = terrainOf(601, 1, 100, () => 0);
  const out = new Uint8Array(601);
  sweepVisible(terrain, eyeAt(0, 0, 40, 10), out);
  const a = DEFAULT_EFFECTIVE_RADIUS_KM * 1000;
  expect(Math.abs(out.lastIndexOf(VISIBLE) * 100 - Math.sqrt(2 * a * 40) - Math.sqrt(2 * a * 10))).toBeLessThan(200);
  expect(out.indexOf(HIDDEN)).toBe(out.lastIndexOf(VISIBLE) + 1);
});

test("behind a ring wall a cell shows only what stands above the line over its crest", () => {
  const middle = 50;
  const radius = (c: number, r: number) => Math.hypot(c - middle, r - middle);
  const terrain = terrainOf(
    101,
    101,
    10,
    (c, r) => 2 * Math.max(radius(c, r) - 25, 0),
    (c, r) => (Math.abs(radius(c, r) - 20) <= 1 ? 20 : 2 * Math.max(radius(c, r) - 25, 0)),
  );
  const out = new Uint8Array(101 * 101);
  sweepVisible(terrain, { ...eyeAt(middle, middle, 10, 0), effectiveRadiusKm: 1e9 }, out);
  // From 10 m over a crest of 20 m at 190–210 m the line rises 1 in 19 to 1 in 21; ground beyond rises 2 m per 10 m.
  for (let r = 0; r < 101; r++)
    for (let c = 0; c < 101; c++) {
      const cells = radius(c, r);
      const ground = 2 * Math.max(cells - 25, 0);
      if (cells > 23 && ground < 10 + (cells * 10) / 21 - 1.5) expect(out[r * 101 + c], `${c}, ${r}`).toBe(HIDDEN);
      if (cells < 18 || ground > 10 + (cells * 10) / 19 + 1.5) expect(out[r * 101 + c], `${c}, ${r}`).toBe(VISIBLE);
    }
});

test("agrees with a straight-line march on rugged ground", () => {
  const terrain = ruggedTerrain(120, 90, 60, 17);
  const eye = eyeAt(47, 33, terrain.groundM[33 * 120 + 47]! + 25);
  const out = new Uint8Array(120 * 90);
  sweepVisible(terrain, eye, out);
  let same = 0;
  let seen = 0;
  for (let r = 0; r < 90; r++)
    for (let c = 0; c < 120; c++) {
      const visible = oracleVisible(terrain, eye, DEFAULT_EFFECTIVE_RADIUS_KM, c, r);
      if (visible) seen++;
      if ((out[r * 120 + c] === VISIBLE) === visible) same++;
    }
  expect(seen).toBeGreaterThan(500);
  expect(seen).toBeLessThan(10000);
  // White noise of 12 m between neighbours is rougher than any ground: the bound on real ground is in accuracy.test.ts.
  expect(same / 10800).toBeGreaterThan(0.96);
});

test("line of sight of the loss sweep and visibility are one rule", () => {
  const terrain = ruggedTerrain(70, 52, 60, 18, true);
  const eye = eyeAt(20, 40, terrain.groundM[40 * 70 + 20]! + 12);
  const out = new Uint8Array(70 * 52);
  sweepVisible(terrain, { ...eye, rayDensity: 2 }, out);
  const loss = createSweepOut(70 * 52, { lineOfSight: true });
  const job = { ...eye, antennaAmslM: eye.eyeAmslM, receiverHeightM: 2, frequencyMHz: 900 };
  sweepLoss(terrain, { ...job, polarization: "vertical", canopy: "solid" }, loss);
  let differ = 0;
  for (let i = 0; i < out.length; i++) if ((out[i] === VISIBLE) !== (loss.lineOfSight![i] === 1)) differ++;
  expect(differ).toBe(0);
});

test("void on the way or under the cell is unknown unless something known hides it; never visible", () => {
  const terrain = terrainOf(
    30,
    3,
    10,
    () => 0,
    (c) => (c === 20 ? 50 : 0),
  );
  terrain.groundM[30 + 15] = Number.NaN;
  terrain.obstacleM[30 + 10] = Number.NaN;
  const out = new Uint8Array(90);
  sweepVisible(terrain, eyeAt(2, 1, 8), out);
  expect(out[30 + 9]).toBe(VISIBLE);
  expect(out[30 + 10]).toBe(VISIBLE); // its ground is known, only what stands on it is not
  for (let c = 11; c <= 20; c++) expect(out[30 + c], `column ${c}`).toBe(VISIBILITY_UNKNOWN);
  for (let c = 21; c < 30; c++) expect(out[30 + c]).toBe(HIDDEN);
});

test("every cell has a value; range and mask leave the rest alone; any cut gives the same bytes", () => {
  for (const [cols, rows, col, row] of [
    [1, 1, 0, 0],
    [13, 7, 12, 0],
    [9, 22, 3, 15],
  ] as const) {
    const terrain = ruggedTerrain(cols, rows, 30, 5);
    const out = new Uint8Array(cols * rows);
    const eye = eyeAt(col, row, terrain.groundM[row * cols + col]! + 5);
    sweepVisible(terrain, eye, out);
    expect(out.includes(NOT_EVALUATED)).toBe(false);
    const cut = new Uint8Array(cols * rows).fill(NOT_EVALUATED);
    for (let ray = 200; ray >= 0; ray -= 5) sweepVisible(terrain, eye, cut, { rayFrom: ray, rayTo: ray + 5 });
    expect(cut).toEqual(out);
    const mask = Uint8Array.from({ length: cols * rows }, (_, i) => i % 3 && 1);
    const masked = new Uint8Array(cols * rows);
    sweepVisible(terrain, { ...eye, mask, maxRangeM: 150 }, masked);
    sweepVisible(terrain, { ...eye, maxRangeM: 150 }, out);
    for (let i = 0; i < masked.length; i++) {
      const near = Math.hypot((i % cols) - col, Math.floor(i / cols) - row) * 30 <= 150;
      expect(masked[i]).toBe(near && mask[i] ? out[i] : NOT_EVALUATED);
    }
  }
});
