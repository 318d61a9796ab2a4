import fc from "fast-check";
import { expect, test } from "vitest";
import { horizonAt, skyGeometry, skyWindow, wrapTo } from "../../client/lib/sky-chart.ts";
import type { SatelliteView } from "../../src/plan/outputs/types.ts";
import { makeSky } from "../e2e/mock-answers.ts";

const sky = makeSky([0, 0]);
const at = (azimuthDeg: number): SatelliteView => ({ ...sky.satellites[0]!, azimuthDeg });

test("the window holds every satellite with room beside it, whatever their bearings", () => {
  fc.assert(
    fc.property(
      fc.array(fc.double({ min: 0, max: 359.99, noNaN: true }), { minLength: 1, maxLength: 6 }),
      (bearings) => {
        const w = skyWindow(bearings.map(at));
        expect(w.to - w.from).toBeGreaterThanOrEqual(80 - 1e-9);
        expect(w.to - w.from).toBeLessThanOrEqual(360);
        for (const b of bearings) {
          const a = wrapTo(b, w.from);
          expect(a).toBeLessThanOrEqual(w.to + 1e-9);
          if (w.to - w.from < 360) {
            expect(a - w.from).toBeGreaterThanOrEqual(26.9);
            expect(w.to - a).toBeGreaterThanOrEqual(26.9);
          }
        }
      },
    ),
  );
});
test("across north the window does not turn inside out", () => {
  const w = skyWindow([at(350), at(10)]);
  expect(w.to - w.from).toBe(80);
  expect(wrapTo(0, w.from)).toBeCloseTo((w.from + w.to) / 2, 9);
});
test("a tube box is its needed margin high and wider by 1/cos elevation", () => {
  const g = skyGeometry(sky, 400, 260);
  const box = g.boxes[0]!;
  const v = box.view;
  const perDegreeX = g.x(g.from + 1) - g.x(g.from);
  const perDegreeY = g.y(0) - g.y(1);
  expect(box.height).toBeCloseTo(2 * v.neededDeg * perDegreeY, 6);
  expect(box.width).toBeCloseTo((2 * v.neededDeg * perDegreeX) / Math.cos((v.elevationDeg * Math.PI) / 180), 6);
});
test("a bearing without data is a marked gap, not a free horizon", () => {
  const horizon = sky.horizon.map((h) =>
    h.azimuthDeg >= 160 && h.azimuthDeg <= 170
      ? { ...h, elevationDeg: null, terrainDeg: null, buildingDeg: null, treeDeg: null, kind: "unknown" as const }
      : h,
  );
  const g = skyGeometry({ ...sky, horizon }, 400, 260);
  expect(g.unknown).toHaveLength(1);
  expect(g.unknown[0]!.width).toBeGreaterThan(20);
});
test("axis marks stand at whole tens of the bearing that is read, true or compass", () => {
  const offset = 3.9;
  const g = skyGeometry(sky, 400, 260, offset);
  for (const t of g.azimuthTicks) expect((((t.azimuthDeg - offset) % 10) + 10.0001) % 10).toBeLessThan(0.001);
  expect(g.azimuthAt(g.x(g.from + 12))).toBeCloseTo((g.from + 12) % 360, 6);
});
test("the horizon sample nearest to a bearing is found across north", () => {
  expect(horizonAt(sky, 359.6)?.azimuthDeg).toBe(0);
  expect(horizonAt(sky, 1.2)?.azimuthDeg).toBe(2);
});
