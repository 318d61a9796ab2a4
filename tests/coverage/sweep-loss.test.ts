import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  countSweepRays,
  createSweepOut,
  DEFAULT_EFFECTIVE_RADIUS_KM,
  type SweepJob,
  type SweepOut,
  type SweepTerrain,
  sweepLoss,
} from "../../src/coverage/index.ts";
import { noise, ruggedTerrain, terrainOf } from "../support/closed-form-terrain.ts";
import { referenceAt } from "../support/reference-grid.ts";
import { referenceEdge } from "../support/reference-loss.ts";

const wanted = { elevationDeg: true, unknownShare: true, lineOfSight: true };

function job(terrain: SweepTerrain, col: number, row: number, more: Partial<SweepJob> = {}): SweepJob {
  return {
    col,
    row,
    antennaAmslM: terrain.groundM[row * terrain.cols + col]! + 6,
    receiverHeightM: 1.5,
    frequencyMHz: 763,
    effectiveRadiusKm: DEFAULT_EFFECTIVE_RADIUS_KM,
    polarization: "vertical",
    maxRangeM: 1e9,
    mask: null,
    canopy: "solid",
    ...more,
  };
}

function sweep(terrain: SweepTerrain, work: SweepJob): SweepOut {
  const out = createSweepOut(terrain.cols * terrain.rows, wanted);
  sweepLoss(terrain, work, out);
  return out;
}

const referenceJob = (work: SweepJob) => ({ ...work, effectiveRadiusKm: work.effectiveRadiusKm! });
const bytes = (values: ArrayBufferView) => Buffer.from(values.buffer, values.byteOffset, values.byteLength);

/** Cells whose centre a ray passes exactly at any density: the axes, the diagonals, the rims of the sectors. */
function exactCells(terrain: SweepTerrain, col: number, row: number): [number, number][] {
  const cells: [number, number][] = [];
  for (let r = 0; r < terrain.rows; r++)
    for (let c = 0; c < terrain.cols; c++) {
      const dc = Math.abs(c - col);
      const dr = Math.abs(r - row);
      if (dc === 0 && dr === 0) continue;
      const rim = dc >= dr ? (c > col ? c === terrain.cols - 1 : c === 0) : r > row ? r === terrain.rows - 1 : r === 0;
      if (dc === 0 || dr === 0 || dc === dr || rim) cells.push([c, r]);
    }
  return cells;
}

describe("on rays through cell centres", () => {
  const places = [
    [20, 33],
    [0, 0],
    [60, 0],
    [41, 46],
  ] as const;
  test.each(places)("loss, elevation and line of sight are those of the profile (terminal at %d, %d)", (col, row) => {
    for (const obstacles of [false, true])
      for (const [frequencyMHz, polarization, antenna, receiver] of [
        [763, "vertical", 6, 1.5],
        [150, "horizontal", 2, 2],
        [5200, "vertical", 30, 10],
      ] as const) {
        const terrain = ruggedTerrain(61, 47, 90, 3, obstacles);
        const work = job(terrain, col, row, {
          frequencyMHz,
          polarization,
          antennaAmslM: terrain.groundM[row * 61 + col]! + antenna,
          receiverHeightM: receiver,
        });
        const out = sweep(terrain, work);
        let worst = 0;
        let worstAngle = 0;
        let clear = 0;
        const cells = exactCells(terrain, col, row);
        for (const [c, r] of cells) {
          const reference = referenceAt(terrain, referenceJob(work), c, r);
          worst = Math.max(worst, Math.abs(out.lossDb[r * 61 + c]! - reference.lossDb));
          worstAngle = Math.max(worstAngle, Math.abs(out.elevationDeg![r * 61 + c]! - reference.elevationDeg));
          expect(out.lineOfSight![r * 61 + c] === 1, `line of sight at ${c}, ${r}`).toBe(reference.lineOfSight);
          if (reference.lineOfSight) clear++;
        }
        expect(worst).toBeLessThan(0.001);
        expect(worstAngle).toBeLessThan(1e-4);
        expect(clear).toBeGreaterThan(0);
        expect(clear).toBeLessThan(cells.length);
      }
  });

  test("over a long flat plain with low masts, where the sphere's own loss decides", () => {
    const terrain = terrainOf(401, 3, 100, () => 12);
    for (const polarization of ["vertical", "horizontal"] as const)
      for (const frequencyMHz of [35, 150, 763, 5800]) {
        const work = job(terrain, 0, 1, { polarization, frequencyMHz, antennaAmslM: 14 });
        const out = sweep(terrain, work);
        for (let c = 1; c < 401; c++) {
          const reference = referenceAt(terrain, referenceJob(work), c, 1);
          expect(Math.abs(out.lossDb[401 + c]! - reference.lossDb), `${frequencyMHz} MHz, ${c}`).toBeLessThan(0.001);
        }
      }
  });

  test("with a finite random profile of any shape", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 60, noNaN: true }), { minLength: 2, maxLength: 90 }),
        fc.array(fc.double({ min: 0, max: 40, noNaN: true }), { minLength: 90, maxLength: 90 }),
        fc.double({ min: 0.5, max: 80, noNaN: true }),
        fc.double({ min: 0.5, max: 80, noNaN: true }),
        fc.integer({ min: 30, max: 6000 }),
        (heights, extra, antenna, receiverHeightM, frequencyMHz) => {
          const n = heights.length;
          const terrain = terrainOf(
            n,
            1,
            50,
            (c) => heights[c]!,
            (c) => heights[c]! + Math.max(extra[c]! - 30, 0),
          );
          const work = job(terrain, 0, 0, {
            antennaAmslM: terrain.groundM[0]! + antenna,
            receiverHeightM,
            frequencyMHz,
          });
          const out = sweep(terrain, work);
          for (let c = 1; c < n; c++) {
            const reference = referenceAt(terrain, referenceJob(work), c, 0);
            expect(Math.abs(out.lossDb[c]! - reference.lossDb)).toBeLessThan(0.005);
          }
        },
      ),
      { numRuns: 150, seed: 20 },
    );
  });
});

describe("closed forms", () => {
  const FLAT_EARTH_KM = 1e9;
  const freeSpace = (frequencyMHz: number, m: number) =>
    32.4 + 20 * Math.log10(frequencyMHz) + 20 * Math.log10(m / 1000);

  test("flat ground, high masts, no Earth curvature: free space over the slant distance (P.525-4)", () => {
    const terrain = terrainOf(41, 31, 10, () => 5);
    const work = job(terrain, 11, 9, {
      antennaAmslM: 45,
      receiverHeightM: 30,
      frequencyMHz: 5200,
      effectiveRadiusKm: FLAT_EARTH_KM,
    });
    const out = sweep(terrain, work);
    for (let r = 0; r < 31; r++)
      for (let c = 0; c < 41; c++) {
        if (c === 11 && r === 9) continue;
        const m = Math.hypot((c - 11) * 10, (r - 9) * 10, 45 - 35);
        expect(Math.abs(out.lossDb[r * 41 + c]! - freeSpace(5200, m))).toBeLessThan(0.001);
      }
  });

  test("wedge: one wall across the path is one knife edge with Bullington's correction (P.526-15 §4.1, §4.5.1)", () => {
    const wall = 30;
    const terrain = terrainOf(
      121,
      1,
      50,
      () => 0,
      (c) => (c === wall ? 90 : 0),
    );
    const work = job(terrain, 0, 0, {
      antennaAmslM: 60,
      receiverHeightM: 60,
      frequencyMHz: 400,
      effectiveRadiusKm: FLAT_EARTH_KM,
    });
    const out = sweep(terrain, work);
    for (let c = wall + 1; c <= 120; c++) {
      const [d1, d2] = [wall * 50, (c - wall) * 50];
      const edge = referenceEdge(30 * Math.sqrt((2 / 0.75) * (1 / d1 + 1 / d2)));
      const km = (c * 50) / 1000;
      const expected = freeSpace(400, c * 50) + edge + (1 - Math.exp(-edge / 6)) * (10 + 0.02 * km);
      expect(Math.abs(out.lossDb[c]! - expected), `cell ${c}`).toBeLessThan(0.001);
      expect(out.lineOfSight![c]).toBe(0);
    }
    for (let c = 1; c <= wall; c++) expect(out.lineOfSight![c]).toBe(1);
  });

  test("ring: a wall all round loses the same in every direction", () => {
    const middle = 60;
    const radius = (c: number, r: number) => Math.hypot(c - middle, r - middle);
    const terrain = terrainOf(
      121,
      121,
      10,
      () => 0,
      (c, r) => (Math.abs(radius(c, r) - 30) <= 1 ? 40 : 0),
    );
    const work = job(terrain, middle, middle, {
      antennaAmslM: 10,
      receiverHeightM: 10,
      effectiveRadiusKm: FLAT_EARTH_KM,
    });
    const out = sweep(terrain, work);
    const beyond: number[] = [];
    for (let r = 0; r < 121; r++)
      for (let c = 0; c < 121; c++) {
        if (radius(c, r) > 33) expect(out.lineOfSight![r * 121 + c], `${c}, ${r}`).toBe(0);
        if (radius(c, r) < 28) expect(out.lineOfSight![r * 121 + c], `${c}, ${r}`).toBe(1);
        if (Math.abs(radius(c, r) - 50) < 0.5) beyond.push(out.lossDb[r * 121 + c]!);
      }
    expect(beyond.length).toBeGreaterThan(200);
    // A wall two cells thick drawn in squares: its nearest face wanders by a cell.
    expect(Math.max(...beyond) - Math.min(...beyond)).toBeLessThan(1.5);
  });

  test("sphere: over level ground the ends see each other up to √(2ah₁) + √(2ah₂)", () => {
    const terrain = terrainOf(601, 1, 100, () => 0);
    const out = sweep(terrain, job(terrain, 0, 0, { antennaAmslM: 40, receiverHeightM: 10 }));
    const a = DEFAULT_EFFECTIVE_RADIUS_KM * 1000;
    const horizonM = Math.sqrt(2 * a * 40) + Math.sqrt(2 * a * 10);
    const last = out.lineOfSight!.lastIndexOf(1);
    expect(Math.abs(last * 100 - horizonM)).toBeLessThan(200);
  });
});

describe("ownership of cells", () => {
  test("every cell of every shape of grid is evaluated, wherever the terminal stands (edges are not left unwritten)", () => {
    for (const [cols, rows] of [
      [1, 1],
      [2, 1],
      [1, 9],
      [3, 2],
      [7, 5],
      [16, 31],
      [40, 13],
    ] as const) {
      const terrain = ruggedTerrain(cols, rows, 30, 9);
      for (let row = 0; row < rows; row += Math.max(1, rows >> 2))
        for (let col = 0; col < cols; col += Math.max(1, cols >> 2))
          for (const rayDensity of [1, 1.3, 2, 3]) {
            const out = sweep(terrain, job(terrain, col, row, { rayDensity }));
            const empty = out.lossDb.findIndex(Number.isNaN);
            expect(empty, `${cols} × ${rows} from ${col}, ${row} at density ${rayDensity}`).toBe(-1);
          }
    }
  });

  test("every cut of the rays gives the same bytes, in any order: no cell has two owners", () => {
    const terrain = ruggedTerrain(53, 38, 30, 12, true);
    for (const rayDensity of [1, 1.5, 2]) {
      const work = job(terrain, 17, 30, { rayDensity });
      const whole = sweep(terrain, work);
      const rays = countSweepRays(terrain, work);
      for (const cuts of [2, 3, 7, rays]) {
        const out = createSweepOut(53 * 38, wanted);
        for (let part = cuts - 1; part >= 0; part--)
          sweepLoss(terrain, work, out, {
            rayFrom: Math.floor((rays * part) / cuts),
            rayTo: Math.floor((rays * (part + 1)) / cuts),
          });
        for (const key of ["lossDb", "elevationDeg", "unknownShare", "lineOfSight"] as const)
          expect(bytes(out[key]!).equals(bytes(whole[key]!)), `${key}, ${cuts} parts, density ${rayDensity}`).toBe(
            true,
          );
      }
      // Each cell is written by one ray: sweeping ray by ray into clean arrays, the counts add up to the cells.
      let written = 0;
      for (let ray = 0; ray < rays; ray++) {
        const out = createSweepOut(53 * 38);
        sweepLoss(terrain, work, out, { rayFrom: ray, rayTo: ray + 1 });
        for (const value of out.lossDb) if (!Number.isNaN(value)) written++;
      }
      expect(written).toBe(53 * 38);
    }
  });

  test("transposed ground gives the transposed answer, to the byte", () => {
    const terrain = ruggedTerrain(45, 28, 30, 21, true);
    const turn = (values: Float32Array) =>
      Float32Array.from(values, (_, i) => values[(i % 28) * 45 + Math.floor(i / 28)]!);
    const turned = {
      cols: 28,
      rows: 45,
      cellM: 30,
      groundM: turn(terrain.groundM),
      obstacleM: turn(terrain.obstacleM),
    };
    const out = sweep(terrain, job(terrain, 9, 20));
    const other = sweep(turned, job(turned, 20, 9));
    for (const key of ["lossDb", "elevationDeg"] as const)
      expect(bytes(turn(out[key]!)).equals(bytes(other[key]!))).toBe(true);
  });

  test("moved inside a larger grid with a range, a sweep gives the same circle", () => {
    const far = ruggedTerrain(64, 64, 30, 4);
    const out = sweep(far, job(far, 31, 30, { maxRangeM: 600 }));
    let inside = 0;
    for (let r = 0; r < 64; r++)
      for (let c = 0; c < 64; c++) {
        const within = Math.hypot(c - 31, r - 30) * 30 <= 600;
        expect(!Number.isNaN(out.lossDb[r * 64 + c]!), `${c}, ${r}`).toBe(within);
        if (within) inside++;
      }
    expect(inside).toBe(1257); // Gauss circle problem, N(20) (OEIS A000328)
  });

  test("a mask changes nothing but which cells are evaluated", () => {
    const terrain = ruggedTerrain(50, 42, 30, 8, true);
    const random = noise(2);
    const whole = sweep(terrain, job(terrain, 13, 29));
    for (const share of [0, 0.002, 0.1, 1]) {
      const mask = Uint8Array.from({ length: 50 * 42 }, () => (random() < share ? 1 : 0));
      const out = sweep(terrain, job(terrain, 13, 29, { mask }));
      for (let i = 0; i < mask.length; i++)
        expect(Object.is(out.lossDb[i], mask[i] === 1 ? whole.lossDb[i] : Number.NaN), `cell ${i}`).toBe(true);
    }
  });
});

describe("void", () => {
  const withVoid = (cells: [number, number][], obstacleOnly = false): SweepTerrain => {
    const terrain = terrainOf(
      21,
      15,
      30,
      () => 100,
      () => 100,
    );
    for (const [c, r] of cells) {
      terrain.obstacleM[r * 21 + c] = Number.NaN;
      if (!obstacleOnly) terrain.groundM[r * 21 + c] = Number.NaN;
    }
    return terrain;
  };

  test.each([false, true])("on the way: loss with the height held, and the share said (obstacles only: %s)", (only) => {
    const terrain = withVoid([[5, 7]], only);
    const out = sweep(terrain, job(terrain, 2, 7));
    const clean = withVoid([]);
    const known = sweep(clean, job(clean, 2, 7));
    expect(out.unknownShare![7 * 21 + 4]).toBe(0);
    expect(out.unknownShare![7 * 21 + 6]).toBe(34); // 1 of 3 samples, rounded up
    expect(out.unknownShare![7 * 21 + 20]).toBe(6); // 1 of 17
    expect(out.lossDb[7 * 21 + 20]).toBe(known.lossDb[7 * 21 + 20]);
    expect(Number.isNaN(out.lossDb[7 * 21 + 5]!)).toBe(!only); // the receiver's own ground
  });

  test("beside the way: a neighbour of no weight makes nothing unknown", () => {
    const terrain = withVoid([
      [5, 8],
      [5, 6],
    ]);
    const out = sweep(terrain, job(terrain, 2, 7));
    for (let c = 3; c < 21; c++) expect(out.unknownShare![7 * 21 + c]).toBe(0);
  });

  test("void is never zero height: a void in a high plateau does not look like a valley, nor like a wall in a low plain", () => {
    const terrain = withVoid([[5, 7]]);
    const out = sweep(terrain, job(terrain, 2, 7));
    expect(out.lineOfSight![7 * 21 + 10]).toBe(1);
    expect(out.unknownShare![7 * 21 + 10]).toBeGreaterThan(0);
  });

  test("under the terminal: nothing is evaluated", () => {
    const terrain = withVoid([[2, 7]]);
    const out = sweep(terrain, job(terrain, 2, 7, { antennaAmslM: 110 }));
    expect(out.lossDb.every(Number.isNaN)).toBe(true);
  });

  test("a half-void tile: the known half is the same as without it", () => {
    const terrain = ruggedTerrain(40, 30, 30, 14);
    const cut = { ...terrain, groundM: terrain.groundM.slice(), obstacleM: terrain.groundM };
    for (let i = 0; i < 40 * 12; i++) cut.groundM[i] = Number.NaN;
    cut.obstacleM = cut.groundM;
    const whole = sweep(terrain, job(terrain, 20, 20));
    const out = sweep(cut, job(cut, 20, 20));
    for (let i = 40 * 12; i < 40 * 30; i++) if (out.unknownShare![i] === 0) expect(out.lossDb[i]).toBe(whole.lossDb[i]);
    for (let i = 0; i < 40 * 12; i++) expect(out.lossDb[i]).toBeNaN();
  });
});

describe("physics", () => {
  test("adding an obstacle never lowers the loss", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.integer({ min: 0, max: 24 * 18 - 1 }), (seed, cell) => {
        const terrain = ruggedTerrain(24, 18, 40, seed, true);
        const raised = { ...terrain, obstacleM: terrain.obstacleM.slice() };
        raised.obstacleM[cell]! += 30;
        const work = job(terrain, 7, 11);
        const before = sweep(terrain, work).lossDb;
        const after = sweep(raised, work).lossDb;
        for (let i = 0; i < before.length; i++) expect(after[i]!).toBeGreaterThanOrEqual(before[i]!);
      }),
      { numRuns: 60, seed: 5 },
    );
  });

  test("obstacles in the two ends' own cells do not block", () => {
    const terrain = terrainOf(
      30,
      1,
      10,
      () => 0,
      (c) => (c === 0 || c === 29 ? 500 : 0),
    );
    const out = sweep(terrain, job(terrain, 0, 0));
    expect(out.lineOfSight![29]).toBe(1);
  });

  test("the same loss from either end (reciprocity)", () => {
    const terrain = ruggedTerrain(41, 41, 60, 6, true);
    for (const [c, r] of [
      [40, 20],
      [20, 40],
      [40, 40],
    ] as const) {
      // Both ends on rims of each other's sectors: the same samples both ways.
      const [h0, h1] = [terrain.groundM[20 * 41 + 20]!, terrain.groundM[r * 41 + c]!];
      const there = sweep(terrain, job(terrain, 20, 20, { antennaAmslM: h0 + 6, receiverHeightM: 2 }));
      const back = sweep(
        terrain,
        job(terrain, c, r, {
          antennaAmslM: h1 + 2,
          receiverHeightM: 6,
          maxRangeM: Math.hypot(c - 20, r - 20) * 60 + 1e-6,
        }),
      );
      expect(Math.abs(there.lossDb[r * 41 + c]! - back.lossDb[20 * 41 + 20]!)).toBeLessThan(0.001);
    }
  });

  test("the terminal's own cell gets free space over half a cell", () => {
    const terrain = terrainOf(5, 5, 30, () => 10);
    const out = sweep(terrain, job(terrain, 2, 2, { antennaAmslM: 16, receiverHeightM: 6 }));
    expect(out.lossDb[12]).toBeCloseTo(32.4 + 20 * Math.log10(763) + 20 * Math.log10(0.015), 4);
  });
});

describe("driver", () => {
  const terrain = ruggedTerrain(60, 50, 30, 2);
  test("stops when told", () => {
    let asked = 0;
    expect(() =>
      sweepLoss(terrain, job(terrain, 5, 5), createSweepOut(3000), { shouldStop: () => ++asked > 3 }),
    ).toThrow(expect.objectContaining({ code: "run.cancelled" }));
    expect(asked).toBe(4);
  });
  test("tells progress up to 1, rising", () => {
    const told: number[] = [];
    sweepLoss(terrain, job(terrain, 5, 5), createSweepOut(3000), { onProgress: (share) => told.push(share) });
    expect(told.at(-1)).toBe(1);
    expect(told).toEqual([...told].sort((a, b) => a - b));
  });
  test("refuses a terminal off the grid and arrays of another size", () => {
    for (const [col, row] of [
      [60, 0],
      [-1, 0],
      [0, 50],
      [1.5, 2],
      [Number.NaN, 0],
    ] as const)
      expect(() => sweepLoss(terrain, { ...job(terrain, 5, 5), col, row }, createSweepOut(3000))).toThrow(
        expect.objectContaining({ code: "model.input" }),
      );
    expect(() => sweepLoss(terrain, job(terrain, 5, 5), createSweepOut(2999))).toThrow(/one value per cell/);
    expect(() => sweepLoss(terrain, job(terrain, 5, 5, { mask: new Uint8Array(7) }), createSweepOut(3000))).toThrow(
      expect.objectContaining({ code: "model.input" }),
    );
  });
});
