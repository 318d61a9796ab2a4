import * as fc from "fast-check";
import { expect, test } from "vitest";
import {
  createSweepOut,
  DEFAULT_EFFECTIVE_RADIUS_KM,
  lossProfile,
  PATH_NUMBERS,
  profileBatch,
  sweepLoss,
} from "../../src/coverage/index.ts";
import { noise, ruggedTerrain, terrainOf } from "../support/closed-form-terrain.ts";
import { referenceAt } from "../support/reference-grid.ts";
import { referenceLoss } from "../support/reference-loss.ts";

const link = { frequencyMHz: 763, effectiveRadiusKm: DEFAULT_EFFECTIVE_RADIUS_KM, polarization: "vertical" as const };

test("between any two cell centres: the exact line's profile", () => {
  for (const obstacles of [false, true]) {
    const terrain = ruggedTerrain(57, 43, 60, 31, obstacles);
    const random = noise(4);
    for (let i = 0; i < 1500; i++) {
      const [c0, r0, c1, r1] = [57, 43, 57, 43].map((size) => Math.floor(random() * size)) as [
        number,
        number,
        number,
        number,
      ];
      if (c0 === c1 && r0 === r1) continue;
      const near = { col: c0, row: r0, antennaAmslM: terrain.groundM[r0 * 57 + c0]! + 6 };
      const far = { col: c1, row: r1, antennaAmslM: terrain.groundM[r1 * 57 + c1]! + 1.5 };
      const answer = lossProfile(terrain, link, near, far);
      const reference = referenceAt(terrain, { ...link, ...near, receiverHeightM: 1.5 }, c1, r1);
      expect(Math.abs(answer.lossDb - reference.lossDb), `${c0}, ${r0} → ${c1}, ${r1}`).toBeLessThan(0.001);
      expect(Math.abs(answer.elevationDeg - reference.elevationDeg)).toBeLessThan(1e-4);
      expect(answer.lineOfSight).toBe(reference.lineOfSight);
      expect(answer.unknownShare).toBe(0);
    }
  }
});

test("on a sweep's exact rays both kernels answer the same", () => {
  const terrain = ruggedTerrain(80, 3, 45, 77, true);
  const antennaAmslM = terrain.groundM[80]! + 6;
  const out = createSweepOut(240);
  sweepLoss(
    terrain,
    { ...link, col: 0, row: 1, antennaAmslM, receiverHeightM: 2, maxRangeM: 1e9, mask: null, canopy: "solid" },
    out,
  );
  for (let c = 1; c < 80; c++) {
    const far = { col: c, row: 1, antennaAmslM: terrain.groundM[80 + c]! + 2 };
    const single = lossProfile(terrain, link, { col: 0, row: 1, antennaAmslM }, far);
    expect(Math.abs(single.lossDb - out.lossDb[80 + c]!)).toBeLessThan(1e-4);
  }
});

test("between places inside cells: bilinear heights at equal steps", () => {
  const terrain = ruggedTerrain(40, 40, 25, 5, false);
  const at = (col: number, row: number) => {
    // Rounding may carry a place a hair outside.
    const [c, r] = [col, row].map((v) => Math.max(0, Math.min(Math.floor(v), 38))) as [number, number];
    const v = (dc: number, dr: number) => terrain.groundM[(r + dr) * 40 + c + dc]!;
    const [x, y] = [col - c, row - r];
    return v(0, 0) * (1 - x) * (1 - y) + v(1, 0) * x * (1 - y) + v(0, 1) * (1 - x) * y + v(1, 1) * x * y;
  };
  const place = fc.double({ min: 0, max: 39, noNaN: true });
  fc.assert(
    fc.property(fc.tuple(place, place, place, place), ([c0, r0, c1, r1]) => {
      fc.pre(Math.hypot(c1 - c0, r1 - r0) > 2);
      const n = Math.ceil(Math.max(Math.abs(c1 - c0), Math.abs(r1 - r0)) - 1e-9);
      const stepKm = (Math.hypot(c1 - c0, r1 - r0) * 25) / n / 1000;
      const d = Array.from({ length: n + 1 }, (_, j) => j * stepKm);
      const h = d.map((_, j) => at(c0 + ((c1 - c0) * j) / n, r0 + ((r1 - r0) * j) / n));
      const [hts, hrs] = [h[0]! + 6, h[n]! + 2];
      const answer = lossProfile(
        terrain,
        link,
        { col: c0, row: r0, antennaAmslM: hts },
        { col: c1, row: r1, antennaAmslM: hrs },
      );
      expect(Math.abs(answer.lossDb - referenceLoss(d, h, h, hts, hrs, link).lossDb)).toBeLessThan(0.005);
    }),
    { numRuns: 300, seed: 8 },
  );
});

test("obstacles in the ends' own cells do not block, wherever in the cell the ends stand", () => {
  const terrain = terrainOf(
    30,
    5,
    10,
    () => 0,
    (c, r) => (r === 2 && (c === 4 || c === 20) ? 300 : 0),
  );
  for (const dx of [-0.45, 0, 0.3, 0.45]) {
    const from = { col: 4 + dx, row: 2, antennaAmslM: 6 };
    const to = { col: 20 - dx, row: 2, antennaAmslM: 6 };
    const block = lossProfile(terrain, link, { ...from, col: 1 }, to);
    expect(block.lineOfSight).toBe(false);
    // A neighbour half a cell away is interpolated with the wall; whole cells away it is not.
    if (dx === 0) expect(lossProfile(terrain, link, from, to).lineOfSight).toBe(true);
  }
});

test("void: held and counted on the way, NaN at an end, no weight no void", () => {
  const terrain = terrainOf(21, 5, 30, () => 50);
  terrain.groundM[2 * 21 + 5] = Number.NaN;
  terrain.groundM[3 * 21 + 9] = Number.NaN;
  const from = { col: 0, row: 2, antennaAmslM: 60 };
  const answer = lossProfile(terrain, link, from, { col: 20, row: 2, antennaAmslM: 60 });
  expect(answer.unknownShare).toBe(6); // 1 of 19 samples; the void beside the line has no weight
  expect(answer.lineOfSight).toBe(true);
  expect(answer.lossDb).toBeGreaterThan(60);
  expect(lossProfile(terrain, link, from, { col: 5, row: 2, antennaAmslM: 60 }).lossDb).toBeNaN();
  expect(lossProfile(terrain, link, { ...from, col: 5 }, { col: 9, row: 2, antennaAmslM: 60 }).lossDb).toBeNaN();
});

test("an end off the grid is NaN; a batch that does not fit is refused", () => {
  const terrain = terrainOf(10, 10, 30, () => 50);
  const from = { col: 0, row: 2, antennaAmslM: 60 };
  for (const [col, row] of [
    [-0.1, 2],
    [9.1, 2],
    [3, Number.NaN],
  ] as const)
    expect(lossProfile(terrain, link, from, { col, row, antennaAmslM: 60 }).lossDb).toBeNaN();
  const bad = () => profileBatch(terrain, link, new Float64Array(PATH_NUMBERS + 1), createSweepOut(1));
  expect(bad).toThrow(expect.objectContaining({ code: "model.input" }));
});

test("a batch equals its paths one by one and can be cut anywhere", () => {
  const terrain = ruggedTerrain(50, 50, 30, 2, true);
  const random = noise(1);
  const paths = Float64Array.from({ length: 300 * PATH_NUMBERS }, (_, i) =>
    i % 3 === 2 ? 420 + 30 * random() : 49 * random(),
  );
  const whole = createSweepOut(300, { elevationDeg: true, lineOfSight: true, unknownShare: true });
  profileBatch(terrain, link, paths, whole);
  const cut = createSweepOut(300, { elevationDeg: true, lineOfSight: true, unknownShare: true });
  for (const [from, to] of [
    [150, 300],
    [0, 7],
    [7, 150],
  ])
    profileBatch(terrain, link, paths, cut, { from: from!, to: to! });
  expect(cut).toEqual(whole);
  const p = paths.subarray(PATH_NUMBERS * 12);
  const single = lossProfile(
    terrain,
    link,
    { col: p[0]!, row: p[1]!, antennaAmslM: p[2]! },
    { col: p[3]!, row: p[4]!, antennaAmslM: p[5]! },
  );
  expect(single.lossDb).toBe(whole.lossDb[12]);
});
