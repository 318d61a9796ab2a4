import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { hillsPlan } from "../../../data-samples/make-hills.ts";
import { loadPlan } from "../../../server/plan/load.ts";
import { openRaster } from "../../../server/raster/index.ts";
import { performSolveMip } from "../../../server/workers/solve-mip.ts";
import type { RankExecutor } from "../../../src/placement/index.ts";
import { localExecutor, makeScenario, rank, whenOf } from "../../../src/placement/index.ts";
import { rankAnswer } from "../../../src/plan/outputs/rank.ts";
import type { RankAnswer } from "../../../src/plan/outputs/types.ts";
import type { LoadedPlan } from "../../../src/plan/types.ts";
import { buildScene } from "../../../src/terrain/build-scene.ts";
import type { Scene } from "../../../src/terrain/scene.ts";
import { projectRoot } from "../../support/tools.ts";

/** The hills sample on 15 m cells and larger tiles: the same ground, a twentieth of the work. */
let cacheDir: string;
let loaded: LoadedPlan;
let scene: Scene;
beforeAll(async () => {
  cacheDir = mkdtempSync(join(tmpdir(), "hills-"));
  const folder = join(projectRoot, "data-samples/hills");
  loaded = await loadPlan(join(folder, "hills.plan.json"));
  loaded.plan.terrain.cellM = 15;
  loaded.plan.search = { ...loaded.plan.search, draws: 20 };
  for (const f of loaded.points.features)
    if (f.properties.tileM) f.properties.tileM = f.geometry.type === "LineString" ? 240 : 80;
  const raster = (use: "ground" | "canopy") =>
    openRaster(join(folder, `${use}.tif`), {
      name: `${use}.tif`,
      use,
      cacheDir,
      unit: "m",
      verticalDatum: use === "canopy" ? undefined : "navd88",
    });
  scene = await buildScene(loaded, { ground: [await raster("ground")], surface: [], canopy: [await raster("canopy")] });
});
afterAll(() => rmSync(cacheDir, { recursive: true }));

async function answerOf(search: object, executor?: (e: RankExecutor) => RankExecutor): Promise<RankAnswer> {
  const own: LoadedPlan = { ...loaded, plan: { ...loaded.plan, search: { ...loaded.plan.search, ...search } } };
  const s = makeScenario(own, scene);
  const base = localExecutor(s);
  const { answer } = await rank(s, {
    executor: executor ? executor(base) : base,
    when: whenOf(s, "2026-10-03"),
    provenance: { version: "test", date: "2026-10-03", seed: 1, files: {}, models: [], planRevision: null },
  });
  return rankAnswer.parse(answer);
}
const withSolver = (e: RankExecutor): RankExecutor => ({
  ...e,
  solveMip: (job) => performSolveMip(job, { shouldStop: () => false, onProgress: () => {} }),
});

let solved: Promise<RankAnswer> | null = null;
const withSolverOnce = (): Promise<RankAnswer> => {
  solved ??= answerOf({}, withSolver);
  return solved;
};

test("two units in the hills: a proven layout, told apart from what three would do", async () => {
  expect(hillsPlan().search?.unitCount).toBe(2);
  const answer = await withSolverOnce();
  const [two, three] = answer.layouts!;
  expect(two!.spots).toHaveLength(2);
  expect(two!.method).toBe("exact");
  expect(two!.solverStatus).toBe("optimal");
  expect(two!.gapPct).toBe(0);
  expect(two!.bound).toBeGreaterThanOrEqual(two!.score);
  expect(two!.greedyScore).toBeLessThanOrEqual(100);
  // Hills part the staging areas: no two spots serve every must, three do, and the answer says so.
  expect(two!.mustsShort).toBeGreaterThan(0);
  expect(answer.minimumUnits).toMatchObject({ units: 3, atLeast: 3 });
  expect(three!.spots).toHaveLength(3);
  expect(three!.mustsShort).toBe(0);
  expect(two!.reasons!.join("\n")).toMatch(/Left short: Staging .*\n3 units serve every must, fewer do not/);
  // Everything named is listed, a separation apart, and worth more than its best unit alone.
  const byId = new Map(answer.spots.map((s) => [s.id, s]));
  for (const layout of [two!, three!]) {
    const places = layout.spots.map((id) => scene.frame.toXY(byId.get(id)!));
    places.forEach((a, i) => {
      for (const b of places.slice(i + 1)) expect(Math.hypot(a.xM - b.xM, a.yM - b.yM)).toBeGreaterThanOrEqual(59);
    });
    for (const id of layout.spots) expect(layout.score).toBeGreaterThanOrEqual(byId.get(id)!.score);
    expect(layout.lost.map((l) => l.spot)).toEqual(layout.spots);
    for (const l of layout.lost) {
      expect(l.score).toBeLessThanOrEqual(layout.score + 1e-9);
      if (l.replacement !== null) expect(byId.has(l.replacement)).toBe(true);
    }
    // A single unit's share of every need is what the single ranking says of that spot.
    layout.needs!.forEach((n, i) => {
      layout.spots.forEach((id, u) => {
        const alone = byId.get(id)!.points[i]!;
        expect(alone).toMatchObject({ id: n.id, need: n.need });
        expect(n.byUnit[u]!).toBeCloseTo(alone.probability ?? 0, 9);
      });
      const tiles = n.servedBy.length;
      const share = n.servedBy.filter((mask) => mask !== 0).length / tiles;
      if (n.kind !== "point") expect(n.share).toBeCloseTo(share, 12);
    });
  }
  // With one unit of two lost the score left is the other's own.
  expect(two!.lost[0]!.score).toBeCloseTo(byId.get(two!.spots[1]!)!.score, 9);
  // Objectives of the plan, from the layout.
  const share = (id: string, units: readonly number[]): number => {
    const mask = units.reduce((m, u) => m | (1 << u), 0);
    const { servedBy } = two!.needs!.find((n) => n.id === id)!;
    return servedBy.filter((by) => (by & mask) !== 0).length / servedBy.length;
  };
  const [s1, s2, lost] = answer.objectives!;
  expect(s1!.foundPct).toBeCloseTo(100 * share("s1", [0, 1]), 9);
  expect(s2!.foundPct).toBeCloseTo(100 * share("s2", [0, 1]), 9);
  expect(lost!.foundPct).toBeCloseTo(100 * Math.min(share("s1", [0]), share("s1", [1])), 9);
  for (const o of answer.objectives!) expect(o.met).toBe(o.foundPct! >= o.sharePct);
});

test("the same layout without the solver, and the same on every run", async () => {
  const [first, second] = [await answerOf({}), await answerOf({})];
  expect(second).toEqual(first);
  expect(first.layouts![0]!.method).toBe("exact");
  expect(first.layouts![0]!.solverStatus).toBe("not-asked");
  expect((await withSolverOnce()).layouts![0]!.score).toBeCloseTo(first.layouts![0]!.score, 6);
});

test("a separation that stands in the way is named", async () => {
  const answer = await answerOf({ unitCount: 3, separationM: 3500 });
  const [layout] = answer.layouts!;
  expect(layout!.mustsShort).toBeGreaterThan(0);
  expect(layout!.reasons!.join("\n")).toMatch(/separation of 3500 m stands in the way/);
});

test("one unit: no layouts, objectives from the first spot, one loss leaves nothing", async () => {
  const answer = await answerOf({ unitCount: 1 });
  expect(answer.layouts).toBeUndefined();
  const first = answer.spots[0]!;
  const points = (id: string) => first.points.find((p) => p.id === id)!;
  expect(answer.objectives![0]!.foundPct).toBeCloseTo(100 * points("s1").probability!, 9);
  expect(answer.objectives![2]).toMatchObject({ unitsLost: 1, foundPct: 0, met: false });
});
