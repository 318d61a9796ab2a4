import { expect, test } from "vitest";
import { evaluateLoss, twoRay } from "../../src/propagation/index.ts";
import { Worst } from "../support/accuracy.ts";

test("far beyond the break point loss is the plane-earth asymptote 40 log d − 20 log h1 − 20 log h2", () => {
  const w = new Worst("two-ray", "textbook plane-earth asymptote", "loss at 200 break points", 0.05);
  for (const [f, h1, h2] of [
    [763, 5, 1.5],
    [2437, 6, 2],
    [150, 10, 1.5],
  ] as const) {
    const d = 200 * twoRay(1, f, h1, h2, "vertical").breakPointKm;
    const r = twoRay(d, f, h1, h2, "vertical");
    // The asymptote's own constant: free space with 32.4 instead of 32.4478
    w.add(r.lossDb + 0.0478, r.Lplane, `${f} MHz`);
  }
  w.check(3);
});

test("at the break point the rays add to 6 dB, at half of it they cancel", () => {
  const at = twoRay(1, 763, 5, 1.5, "vertical").breakPointKm;
  const peak = twoRay(at, 763, 5, 1.5, "vertical");
  expect(peak.Lbfs - peak.lossDb).toBeCloseTo(6.02, 1);
  const null2 = twoRay(at / 2, 763, 5, 1.5, "vertical");
  expect(null2.lossDb - null2.Lbfs).toBeGreaterThan(20);
  expect(null2.lossDb - null2.Lbfs).toBeLessThanOrEqual(40);
});

test("ground constants: grazing incidence reflects wholly, a perfect conductor reflects vertical in phase", () => {
  expect(
    twoRay(50, 763, 5, 1.5, "vertical", { permittivity: 15, conductivitySPerM: 0.005 }).reflection,
  ).toBeGreaterThan(0.99);
  expect(
    twoRay(0.005, 763, 5, 1.5, "vertical", { permittivity: 15, conductivitySPerM: 0.005 }).reflection,
  ).toBeLessThan(0.9);
  // Brewster: near tan ψ = 1/√ε the vertical reflection of a lossless ground all but vanishes
  const d = 6.5 * Math.sqrt(15);
  expect(twoRay(d / 1000, 763, 5, 1.5, "vertical", { permittivity: 15, conductivitySPerM: 0 }).reflection).toBeLessThan(
    1e-9,
  );
  expect(
    twoRay(d / 1000, 763, 5, 1.5, "horizontal", { permittivity: 15, conductivitySPerM: 0 }).reflection,
  ).toBeGreaterThan(0.5);
});

test("a case warns beyond the break point and on ground that is not flat", () => {
  const r = evaluateLoss({
    model: "two-ray",
    frequencyMHz: 763,
    distancesKm: [0, 2],
    heightsM: [0, 30],
    txHeightM: 5,
    rxHeightM: 1.5,
  });
  expect(r.warnings.map((w) => w.code)).toEqual(["two-ray.beyond-break-point", "two-ray.not-flat"]);
});
