import { expect, test } from "vitest";
import { bulgeOf, lossTerms, runsOf, sampleAt, sectionGeometry } from "../../client/lib/section.ts";
import type { PathAnswer } from "../../src/plan/outputs/types.ts";
import { makePath } from "../e2e/mock-answers.ts";

/** Flat sea-level ground, antennas at one height, n samples: everything about it is known in closed form. */
function flat(distanceM: number, heightM: number, frequencyMHz = 763, k = 4 / 3, n = 201): PathAnswer {
  const base = makePath([0, 0], [100, 0], "cp");
  const d = Array.from({ length: n }, (_, i) => (i / (n - 1)) * distanceM);
  return {
    ...base,
    distanceM,
    k,
    frequencyMHz,
    distancesM: d,
    groundM: d.map(() => 0),
    surfaceM: d.map(() => 0),
    canopyTopM: d.map(() => null),
    lineM: d.map((x) => heightM - (x * (distanceM - x)) / (2 * k * 6_371_000)),
    fresnelRadiusM: d.map((x) => Math.sqrt(((299.792458 / frequencyMHz) * x * (distanceM - x)) / distanceM)),
    clearanceM: d.map(() => heightM),
    worstObstruction: null,
    firstObstruction: null,
  };
}

test("Earth bulge in the middle of 20 km at k = 4/3 is d²/(8 k a), 5.9 m (parabola for the sagitta)", () => {
  expect(bulgeOf(flat(20_000, 50))).toBeCloseTo(20_000 ** 2 / (8 * (4 / 3) * 6_371_000), 2);
});
test("the chord is drawn where the bulge can be seen, and only there", () => {
  expect(sectionGeometry(flat(20_000, 50), 560, 240).chord).not.toBe("");
  expect(sectionGeometry(flat(300, 6), 560, 240).chord).toBe("");
});
test("the first Fresnel radius in the middle is 550 √(d1 d2 / ((d1 + d2) f)), km and MHz (Rec. ITU-R P.526-15 eq. (2))", () => {
  const p = flat(1000, 6, 763);
  expect(Math.max(...p.fresnelRadiusM)).toBeCloseTo(550 * Math.sqrt((0.5 * 0.5) / (1 * 763)), 1);
});
test("x runs with distance and y against height; the stretch is what the scales say", () => {
  const p = flat(1000, 10);
  const s = sectionGeometry(p, 600, 240);
  expect(s.x(0)).toBe(s.frame.left);
  expect(s.x(1000)).toBe(s.frame.right);
  expect(s.y(10)).toBeLessThan(s.y(0));
  const xPerM = (s.x(1000) - s.x(0)) / 1000;
  expect(s.stretch).toBeCloseTo((s.y(0) - s.y(10)) / 10 / xPerM, 6);
  expect(s.alongAt(s.x(420))).toBeCloseTo(420, 6);
  expect(s.alongAt(-50)).toBe(0);
});
test("nodata is a gap with its own mark, never ground at zero", () => {
  const p = flat(1000, 10);
  const groundM = p.groundM.map((g, i) => (i > 80 && i < 120 ? null : g));
  const s = sectionGeometry({ ...p, groundM }, 600, 240);
  expect(s.ground).toHaveLength(2);
  expect(s.unknown).toHaveLength(1);
  expect(s.unknown[0]!.width).toBeGreaterThan(90);
  expect(s.ground.join()).not.toMatch(/NaN|null|undefined/);
});
test("a path that is all void still draws", () => {
  const p = flat(1000, 10);
  const none = p.groundM.map(() => null);
  const s = sectionGeometry({ ...p, groundM: none, surfaceM: none, lineM: none }, 600, 240);
  expect(s.ground).toEqual([]);
  expect(s.line).toBe("");
  expect(JSON.stringify(s.yTicks)).not.toContain("null");
});
test("runs of kept indices", () => {
  expect(runsOf(6, (i) => i !== 2 && i !== 5)).toEqual([
    [0, 1],
    [3, 4],
  ]);
  expect(runsOf(0, () => true)).toEqual([]);
});
test("the nearest sample of a place along the path", () => {
  const p = flat(1000, 10, 763, 4 / 3, 11);
  expect(sampleAt(p, 0)).toBe(0);
  expect(sampleAt(p, 149)).toBe(1);
  expect(sampleAt(p, 151)).toBe(2);
  expect(sampleAt(p, 5000)).toBe(10);
});
test("named parts of the loss add up to the loss", () => {
  const p = makePath([0, 0], [536, -104], "sa");
  expect(lossTerms(p).reduce((s, t) => s + t.value, 0)).toBeCloseTo(p.lossDb!, 6);
  expect(lossTerms({ ...p, lossDb: null })).toEqual([]);
});
