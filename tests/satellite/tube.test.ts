import fc from "fast-check";
import { expect, test } from "vitest";
import { columnTangent, wallTangent } from "../../src/satellite/tube.kernel.ts";

const rad = Math.PI / 180;
const at = new Float64Array(1);

/** The tube by its definition, on a fine mesh of points of the wall: no search, no frame tricks. */
function meshTangent(a1: number, b1: number, a2: number, b2: number, top: number, el: number, radius: number): number {
  const [c, sn] = [Math.cos(el * rad), Math.sin(el * rad)];
  let best = Infinity;
  for (let i = 0; i <= 400; i++)
    for (let j = 0; j <= 1500; j++) {
      const a = a1 + ((a2 - a1) * i) / 400;
      const b = b1 + ((b2 - b1) * i) / 400;
      const z = top - j * 0.05;
      const s = a * c + z * sn;
      if (s <= 0) continue;
      const rho = Math.hypot(a - s * c, b, z - s * sn);
      best = Math.min(best, (rho - radius) / s);
    }
  return best;
}

test("a wall touches the tube where a fine mesh of its points says so", () => {
  fc.assert(
    fc.property(
      fc.double({ min: 4, max: 60, noNaN: true }),
      fc.double({ min: -25, max: 25, noNaN: true }),
      fc.double({ min: -20, max: 20, noNaN: true }),
      fc.double({ min: -20, max: 20, noNaN: true }),
      fc.double({ min: -1, max: 40, noNaN: true }),
      fc.double({ min: 12, max: 70, noNaN: true }),
      fc.double({ min: 0.1, max: 0.9, noNaN: true }),
      (a1, b1, da, db, top, el, radius) => {
        const [a2, b2] = [Math.max(3, a1 + da), b1 + db];
        // The search is for walls the ray does not pass through: a blocked ray is told apart beforehand.
        if (b1 > 0 !== b2 > 0) {
          const a = a1 + ((a2 - a1) * b1) / (b1 - b2);
          if (top >= a * Math.tan(el * rad)) return;
        }
        const mesh = meshTangent(a1, b1, a2, b2, top, el, radius);
        const found = wallTangent(a1, b1, a2, b2, top, Math.cos(el * rad), Math.sin(el * rad), radius, at);
        const [m, f] = [Math.atan(mesh) / rad, Math.atan(found) / rad];
        expect(f).toBeLessThan(m + 0.01);
        expect(f).toBeGreaterThan(m - 0.35);
      },
    ),
    { numRuns: 60, seed: 5 },
  );
});

test("closed forms: straight ahead under the ray, and straight aside", () => {
  const el = 30;
  const [c, sn] = [Math.cos(el * rad), Math.sin(el * rad)];
  // A post 10 m ahead whose top is seen 5° under the ray, with a dish of no size.
  expect(Math.atan(columnTangent(10, 0, 10 * Math.tan(25 * rad), c, sn, 0)) / rad).toBeCloseTo(5, 6);
  // A tall post at the same azimuth distance but aside: the least angle between the ray and the post's line.
  const [a, b] = [10 * Math.cos(12 * rad), 10 * Math.sin(12 * rad)];
  const best = Math.asin(c * Math.sin(12 * rad)) / rad;
  expect(Math.atan(columnTangent(a, b, 1e4, c, sn, 0)) / rad).toBeCloseTo(best, 4);
  // With a radius: the tube of margin 0 reaches a tall post one radius aside.
  expect(columnTangent(20, 0.6, 1e4, c, sn, 0.6)).toBeLessThanOrEqual(1e-6);
  expect(columnTangent(20, 0.7, 1e4, c, sn, 0.6)).toBeGreaterThan(0);
});

test("a column that stands in the dish is worse than any", () => {
  expect(columnTangent(0.1, 0.1, 3, Math.cos(0.6), Math.sin(0.6), 0.45)).toBe(Number.NEGATIVE_INFINITY);
});
