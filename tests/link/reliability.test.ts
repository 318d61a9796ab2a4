import { expect, test } from "vitest";
import { areaMarginDb, areaReliability, pointMarginDb, pointReliability } from "../../src/link/index.ts";

test("area against edge reliability at σ = 8 dB, exponent 3.5 (W. C. Jakes, Microwave Mobile Communications, 1974, §2.5.3)", () => {
  // 5.5 dB at the edge for 90 % of the area, 8.7 dB for 95 %, the latter with 86 % at the edge: worked from Jakes' formula
  // in site-planning notes, rounded to 0.1 dB.
  expect(areaMarginDb(0.9, 8, 3.5)).toBeCloseTo(5.5, 1);
  expect(areaMarginDb(0.95, 8, 3.5)).toBeCloseTo(8.7, 1);
  expect(pointReliability(areaMarginDb(0.95, 8, 3.5), 8)).toBeCloseTo(0.86, 2);
  expect(pointMarginDb(0.95, 8)).toBeCloseTo(13.2, 1);
  // Jakes, Fig. 2.5-1: with σ/n = 2 and an edge reliability of 0.75 the area has about 0.90; read off the figure, from memory.
  expect(areaReliability(pointMarginDb(0.75, 7), 7, 3.5)).toBeGreaterThan(0.88);
  expect(areaReliability(pointMarginDb(0.75, 7), 7, 3.5)).toBeLessThan(0.92);
});

test("the formula is the integral it stands for", () => {
  for (const [margin, sigma, n] of [
    [0, 8, 3.5],
    [5, 6, 2],
    [-4, 10, 4],
    [12, 8.2, 3.8],
  ] as const) {
    // Midpoint rule over rings of equal area.
    let sum = 0;
    const rings = 200_000;
    for (let i = 0; i < rings; i++) {
      const r = Math.sqrt((i + 0.5) / rings);
      sum += pointReliability(margin - 10 * n * Math.log10(r), sigma);
    }
    expect(areaReliability(margin, sigma, n)).toBeCloseTo(sum / rings, 6);
    expect(areaReliability(margin, sigma, n)).toBeGreaterThan(pointReliability(margin, sigma));
  }
});
