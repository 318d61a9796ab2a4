import { expect, test } from "vitest";
import { performSolveMip } from "../../../server/workers/solve-mip.ts";
import { cancelled } from "../../../src/errors/index.ts";
import { complementaryCells } from "../../../src/placement/layouts/candidates.ts";
import { chooseLayout, keepsRules } from "../../../src/placement/layouts/choose.ts";
import { layoutInstance } from "../../../src/placement/layouts/instance.ts";
import { lostUnits } from "../../../src/placement/layouts/lost.ts";
import type { MipSolver } from "../../../src/placement/layouts/mip.ts";
import { type ServedMatrix, tilesNeeded } from "../../../src/placement/layouts/served.ts";
import { layoutStanding } from "../../../src/placement/layouts/standing.ts";
import { randomLayout } from "../../support/random-layout.ts";

const solver: MipSolver = (job) => performSolveMip(job, { shouldStop: () => false, onProgress: () => {} });

function plan(seed: number, units: number, more: object = {}) {
  const { matrix, places } = randomLayout({ seed, spots: 24, points: 6, areas: 4, tilesPerArea: 25, ...more });
  return { matrix, p: layoutInstance(matrix, places, { units, separationM: 60 }) };
}

test("own search and solver agree: proven, no gap, no doubts", async () => {
  for (const seed of [1, 2, 3, 4]) {
    const { matrix, p } = plan(seed, 3);
    const alone = await chooseLayout(p, matrix, null);
    const both = await chooseLayout(p, matrix, solver);
    expect(both.doubts).toEqual([]);
    expect(both.proven && both.ownProven).toBe(true);
    expect(both.solverStatus).toBe("optimal");
    expect(both.bound - both.choice.score).toBeLessThan(1e-6);
    expect(both.choice.score).toBeCloseTo(alone.choice.score, 6);
    expect(alone.solverStatus).toBe("not-asked");
    expect(keepsRules(p, both.choice.set)).toBe(true);
  }
});

test("where the own search is cut short the solver proves, and the own bound stays above", async () => {
  const { matrix, p } = plan(9, 4, { spots: 30 });
  const cut = await chooseLayout(p, matrix, null, 500);
  expect(cut.proven).toBe(false);
  expect(cut.bound).toBeGreaterThan(cut.choice.score);
  const full = await chooseLayout(p, matrix, null);
  expect(full.proven).toBe(true);
  expect(cut.bound).toBeGreaterThanOrEqual(full.choice.score - 1e-9);
  const solved = await chooseLayout(p, matrix, solver, 500);
  expect(solved.ownProven).toBe(false);
  expect(solved.proven).toBe(true);
  expect(solved.choice.score).toBeCloseTo(full.choice.score, 6);
  expect(solved.ownBound).toBeGreaterThanOrEqual(full.choice.score - 1e-9);
});

test("a solver that is wrong is found out: its score, its limit, its rules", async () => {
  const { matrix, p } = plan(5, 2);
  const truth = await chooseLayout(p, matrix, null);
  const stands = (set: readonly number[]): number[] =>
    Array.from({ length: p.spots }, (_, s) => (set.includes(s) ? 1 : 0));
  const answer =
    (set: readonly number[], objective: number, bound: number): MipSolver =>
    async () => ({
      status: "optimal",
      values: stands(set),
      objective,
      bound,
      nodes: 1,
    });
  const worse = [0];
  const { score } = layoutStanding(matrix, worse);
  const boasts = await chooseLayout(p, matrix, answer(worse, score + 5, truth.choice.score));
  expect(boasts.doubts.join(" ")).toMatch(/own score holds/);
  const low = await chooseLayout(p, matrix, answer(worse, score, score));
  expect(low.doubts.join(" ")).toMatch(/limit is left aside/);
  expect(low.solverBound).toBeNull();
  const many = await chooseLayout(p, matrix, answer([0, 1, 2, 3], 99, 99));
  expect(many.doubts.join(" ")).toMatch(/number of units/);
  for (const found of [boasts, low, many]) expect(found.choice).toEqual(truth.choice);
});

test("a solver that breaks costs its proof, not the answer; a cancelled run ends", async () => {
  const { matrix, p } = plan(5, 2);
  const truth = await chooseLayout(p, matrix, null);
  const broken = await chooseLayout(p, matrix, async () => {
    throw new Error("out of memory");
  });
  expect(broken.choice).toEqual(truth.choice);
  expect(broken.solverStatus).toBe("fault");
  expect(broken.doubts.join(" ")).toMatch(/gave up/);
  const cancel = chooseLayout(p, matrix, async () => {
    throw cancelled("the run");
  });
  await expect(cancel).rejects.toMatchObject({ code: "run.cancelled" });
});

/** Two areas of ten tiles, three spots: the first serves one whole and the other's first tile, the second the other whole, the third half of each. */
function handMade(): ServedMatrix {
  const area = (demand: number, served: number[][]) => ({
    demand,
    site: demand,
    must: true,
    isPoint: false,
    worth: 40,
    target: 0.9,
    tileTarget: 0.9,
    tiles: 10,
    probability: Float64Array.from(
      served.flatMap((tiles) => Array.from({ length: 10 }, (_, t) => (tiles.includes(t) ? 0.95 : 0.3))),
    ),
  });
  const all = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9];
  return {
    spots: 3,
    demands: [
      area(0, [all, [], [0, 1, 2, 3, 4]]),
      area(1, [[0], all, [5, 6, 7, 8, 9]]),
      {
        demand: 2,
        site: 2,
        must: false,
        isPoint: true,
        worth: 20,
        target: 0.9,
        tileTarget: 0.9,
        tiles: 1,
        probability: Float64Array.of(0.5, 0.7, Number.NaN),
      },
    ],
  };
}

test("shares, two-deep and the lost unit on a plan counted by hand", () => {
  const matrix = handMade();
  const both = layoutStanding(matrix, [0, 1]);
  expect(both.score).toBeCloseTo(40 + 40 + 20 * 0.7, 12);
  expect(both.mustsMet).toBe(2);
  expect(both.demands[1]!.twoShare).toBeCloseTo(0.1, 12);
  expect(both.servedByOnePct).toBeCloseTo(80, 12);
  expect(both.servedByTwoPct).toBeCloseTo(4, 12);
  expect([...both.demands[1]!.servedBy.slice(0, 2)]).toEqual([0b11, 0b10]);
  // The third spot's path to the point is unknown: it counts nothing and may still be anything.
  const third = layoutStanding(matrix, [2]);
  expect(third.demands[2]).toMatchObject({ share: 0, high: 1, met: false });
  expect(third.score).toBeCloseTo(40, 12);

  const places = [0, 100, 200].map((xM) => ({ xM, yM: 0 }));
  const p = layoutInstance(matrix, places, { units: 2, separationM: 30 });
  const [first, second] = lostUnits(p, matrix, [0, 1]);
  expect(first!.left.score).toBeCloseTo(40 + 14, 12);
  // The unit that is left stands best where it is.
  expect(first!.move).toBeNull();
  // Spot 0 alone gives 40 + 4 + 10 = 54 and a must, spot 1 alone 54 and a must: no move helps here either.
  expect(second!.left.score).toBeCloseTo(54, 12);
  expect(second!.move).toBeNull();
  const [, other] = lostUnits(p, matrix, [2, 0]);
  expect(other!.left.mustsMet).toBe(0);
  expect(other!.move).toMatchObject({ unit: 0, spot: 0 });
  expect(other!.move!.after.score).toBeCloseTo(54, 12);
});

test("the share a target needs is counted as the single ranking counts it", () => {
  for (const tiles of [1, 3, 7, 10, 20, 33, 100])
    for (const target of [0.01, 0.3, 0.6, 0.7, 0.9, 0.95, 0.999]) {
      const need = tilesNeeded(target, tiles);
      expect(need / tiles).toBeGreaterThanOrEqual(target);
      expect((need - 1) / tiles).toBeLessThan(target);
    }
});

test("a unit the score has no use for goes where most is served twice", async () => {
  const matrix = handMade();
  matrix.demands.pop();
  const places = [0, 100, 200].map((xM) => ({ xM, yM: 0 }));
  const p = layoutInstance(matrix, places, { units: 3, separationM: 30 });
  const found = await chooseLayout(p, matrix, null);
  expect(found.choice.set).toEqual([0, 1, 2]);
  expect(found.minimum).toMatchObject({ atLeast: 2, set: [0, 1] });
});

test("cells that complete each other: the second pick serves what the first leaves", () => {
  const grid = { westM: 0, northM: 10, cellM: 1, cols: 10, rows: 1 };
  const values = [Float32Array.of(1, 0.9, 0, 0), Float32Array.of(0, 0, 0.4, 0.5)];
  const field = { grid, cells: [0, 1, 5, 6], values, weights: [3, 1] };
  expect(complementaryCells(field, 2, [], 1)).toEqual([0, 6]);
  expect(complementaryCells(field, 4, [], 1)).toEqual([0, 6, 1, 5]);
  expect(complementaryCells(field, 4, [], 3)).toEqual([0, 6]);
  expect(complementaryCells(field, 4, [0], 1)).toEqual([1, 6, 5]);
});
