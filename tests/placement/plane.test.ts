import fc from "fast-check";
import { expect, test } from "vitest";
import {
  insidePolygon,
  polygonAreaM2,
  rectCorners,
  rectInsidePolygon,
  rectMeetsPolygon,
  rectToSegmentM,
  segmentMeetsRect,
  turnedRect,
} from "../../src/placement/plane.ts";

const square = (x: number, y: number, s: number): [number, number][] => [
  [x, y],
  [x + s, y],
  [x + s, y + s],
  [x, y + s],
  [x, y],
];
const coordinate = fc.double({ min: -100, max: 100, noNaN: true });

test("area of a square with a hole", () => {
  expect(polygonAreaM2([square(0, 0, 10), square(2, 2, 3)])).toBeCloseTo(91, 9);
});

test("a hole is outside", () => {
  const polygon = [square(0, 0, 10), square(2, 2, 3)];
  expect(insidePolygon({ xM: 1, yM: 1 }, polygon)).toBe(true);
  expect(insidePolygon({ xM: 3, yM: 3 }, polygon)).toBe(false);
});

test("a turned footprint meets a segment exactly when some dense point of the segment lies in it", () => {
  fc.assert(
    fc.property(
      coordinate,
      coordinate,
      coordinate,
      coordinate,
      fc.integer({ min: 0, max: 359 }),
      (ax, ay, bx, by, heading) => {
        const rect = turnedRect({ xM: 0, yM: 0 }, 40, 20, heading);
        const a = (heading * Math.PI) / 180;
        const inRect = (x: number, y: number, grow: number): boolean =>
          Math.abs(x * Math.sin(a) + y * Math.cos(a)) <= 20 + grow &&
          Math.abs(x * Math.cos(a) - y * Math.sin(a)) <= 10 + grow;
        let sure = false;
        let maybe = false;
        for (let i = 0; i <= 4000; i++) {
          const t = i / 4000;
          const x = ax + (bx - ax) * t;
          const y = ay + (by - ay) * t;
          if (inRect(x, y, -1e-9)) sure = true;
          if (inRect(x, y, 0.1)) maybe = true;
        }
        const found = segmentMeetsRect([ax, ay], [bx, by], rect);
        if (sure) expect(found).toBe(true);
        if (!maybe) expect(found).toBe(false);
      },
    ),
    { numRuns: 300 },
  );
});

test("a footprint at 45° needs the diagonal of room", () => {
  const lot = [square(-7, -7, 14)];
  expect(rectInsidePolygon(turnedRect({ xM: 0, yM: 0 }, 10, 10, 0), lot)).toBe(true);
  expect(rectInsidePolygon(turnedRect({ xM: 0, yM: 0 }, 10, 10, 45), lot)).toBe(false);
  expect(rectMeetsPolygon(turnedRect({ xM: 13, yM: 0 }, 10, 10, 0), lot)).toBe(false);
  expect(rectMeetsPolygon(turnedRect({ xM: 11.9, yM: 0 }, 10, 10, 0), lot)).toBe(true);
});

test("distance from a footprint's edge to a point and a far segment", () => {
  const rect = turnedRect({ xM: 0, yM: 0 }, 10, 6, 0);
  expect(rectToSegmentM(rect, [8, 0], [8, 0])).toBeCloseTo(5, 9);
  expect(rectToSegmentM(rect, [0, 12], [0, 20])).toBeCloseTo(7, 9);
  expect(rectCorners(rect)).toHaveLength(4);
});
