import { expect, test } from "vitest";
import { inverseNormal, normalCdf } from "../../src/link/index.ts";
import { normalCdf as exactCdf } from "../../src/propagation/normal.ts";

// Abramowitz & Stegun (1964) Table 26.1 (Φ) and Table 26.5 (quantiles).
test.each([
  [0, 0.5],
  [0.5, 0.691462461274013],
  [1, 0.841344746068543],
  [1.5, 0.933192798731142],
  [2, 0.977249868051821],
  [3, 0.99865010196837],
  [-2.5, 0.00620966532577613],
])("Φ(%f)", (x, p) => expect(Math.abs(normalCdf(x) - p)).toBeLessThan(1e-7));

test("within 5e-9 of the exact function everywhere, rising, symmetric, saturating, NaN through", () => {
  let worst = 0;
  let before = 0;
  for (let x = -9; x <= 9; x += 0.00137) {
    const p = normalCdf(x);
    worst = Math.max(worst, Math.abs(p - exactCdf(x)));
    expect(p).toBeGreaterThanOrEqual(before);
    expect(Math.abs(p + normalCdf(-x) - 1)).toBeLessThan(1e-8);
    before = p;
  }
  expect(worst).toBeLessThan(5e-9);
  expect(normalCdf(-50)).toBe(0);
  expect(normalCdf(50)).toBe(1);
  expect(normalCdf(Number.NEGATIVE_INFINITY)).toBe(0);
  expect(normalCdf(Number.NaN)).toBeNaN();
});

test("quantiles", () => {
  expect(inverseNormal(0.95)).toBeCloseTo(1.6448536269514722, 10);
  expect(inverseNormal(0.9)).toBeCloseTo(1.2815515655446004, 10);
  expect(inverseNormal(0.01)).toBeCloseTo(-2.3263478740408408, 10);
});
