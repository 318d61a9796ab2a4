import { expect, test } from "vitest";
import {
  deltaBullington,
  evaluateLoss,
  freeSpaceLossDb,
  fresnelIntegrals,
  fresnelKirchhoff,
  knifeEdgeExactLossDb,
  knifeEdgeLossDb,
  type LossCase,
  radioProfile,
  roundedObstacleLossDb,
} from "../../src/propagation/index.ts";
import { bullingtonLoss, smoothBullingtonLoss } from "../../src/propagation/p526.kernel.ts";
import { Worst } from "../support/accuracy.ts";
import { records, reference, type Table } from "../support/reference.ts";

test("free space: the printed formula at four distances", () => {
  // Rec. ITU-R P.525-4 §2.3, computed by hand from 32.4 + 20 log f + 20 log d
  const w = new Worst("p525", "Rec. ITU-R P.525-4 §2.3, formula", "Lbfs", 1e-4);
  for (const [f, d, want] of [
    [758, 0.1, 69.9934],
    [758, 1, 89.9934],
    [758, 5, 103.9728],
    [758, 36000, 181.1194],
  ] as const) {
    w.add(freeSpaceLossDb(d, f), want, `${f} MHz ${d} km`);
    w.add(evaluateLoss({ model: "p525", frequencyMHz: f, distanceKm: d }).parts.Lbfs, want, `case ${f} MHz ${d} km`);
  }
  w.check(8);
});

// C(x), S(x): Abramowitz & Stegun (1964), Table 7.7
const FRESNEL: [x: number, c: number, s: number][] = [
  [0, 0, 0],
  [0.5, 0.4923442, 0.0647324],
  [1, 0.7798934, 0.4382591],
  [2, 0.4882534, 0.3434157],
];

test("Fresnel integrals agree with the table, and with each other across the change of method", () => {
  for (const [x, c, s] of FRESNEL) {
    expect(fresnelIntegrals(x)[0]).toBeCloseTo(c, 7);
    expect(fresnelIntegrals(-x)[1]).toBeCloseTo(-s, 7);
  }
  const below = fresnelIntegrals(6);
  const above = fresnelIntegrals(6 + 1e-9);
  expect(Math.abs(below[0] - above[0])).toBeLessThan(3e-9);
  expect(Math.abs(below[1] - above[1])).toBeLessThan(3e-9);
});

test("knife edge: the approximation lies within 0.13 dB of the exact form above ν = −0.78", () => {
  expect(knifeEdgeExactLossDb(0)).toBeCloseTo(20 * Math.log10(2), 9);
  const w = new Worst("knife-edge", "Fresnel integral (Rec. ITU-R P.526-15 eq. 30)", "eq. (31)", 0.13);
  for (let nu = -0.77; nu <= 10; nu += 0.01) w.add(knifeEdgeLossDb(nu), knifeEdgeExactLossDb(nu), `ν ${nu}`);
  w.check(1000);
  expect(knifeEdgeLossDb(-0.78)).toBe(0);
  expect(knifeEdgeLossDb(Number.NaN)).toBeNaN();
});

test("knife edge: a case by ν and the same edge by a profile", () => {
  const nu = fresnelKirchhoff(20, 1000, 3000, 3e8 / 760e6);
  const byNu = evaluateLoss({ model: "knife-edge", frequencyMHz: 760, nu });
  const byProfile = evaluateLoss({
    model: "knife-edge",
    frequencyMHz: 760,
    distancesKm: [0, 1, 4],
    heightsM: [100, 130, 100],
    txHeightM: 10,
    rxHeightM: 10,
    effectiveRadiusKm: 1_000_000,
  });
  // The Earth bulge left over by the largest radius is 1.5 mm.
  expect(byProfile.parts.nu).toBeCloseTo(nu, 3);
  expect(byNu.lossDb).toBeCloseTo(knifeEdgeLossDb(nu), 12);
});

test("rounded obstacle: a vanishing radius is the knife edge, a larger one costs more, no jump at mn = 4", () => {
  const edge = roundedObstacleLossDb(30, 2000, 3000, 0, 0.4);
  expect(edge).toBeCloseTo(knifeEdgeLossDb(fresnelKirchhoff(30, 2000, 3000, 0.4)), 12);
  expect(roundedObstacleLossDb(30, 2000, 3000, 1e-6, 0.4) - edge).toBeLessThan(0.1);
  let before = edge;
  for (const r of [10, 50, 100, 500]) {
    const loss = roundedObstacleLossDb(30, 2000, 3000, r, 0.4);
    expect(loss).toBeGreaterThan(before);
    before = loss;
  }
});

interface DeltaFile extends Table {
  paths: Record<string, { dKm: number[]; hM: number[] }>;
}

test("delta-Bullington: every published term of the study group's examples", () => {
  const file = reference<DeltaFile>("itu-sg3-delta-bullington/cases.json");
  const source = "ITU-R SG 3 delta-Bullington examples";
  const exact = new Worst("p526", source, "Lbulla, Lbulls", 1e-6);
  const smooth = new Worst("p526", source, "Ldsph, Ld", 0.01);
  const heights = new Worst("p526", source, "htep, hrep", 1e-6, "m");
  for (const row of records(file)) {
    const path = file.paths[String(row.path)]!;
    const input: LossCase = {
      model: "p526",
      frequencyMHz: row.f_MHz!,
      distancesKm: path.dKm,
      heightsM: path.hM,
      txHeightM: row.htg_m!,
      rxHeightM: row.hrg_m!,
      polarization: "horizontal",
      effectiveRadiusKm: row.ap_km!,
    };
    const { lossDb, parts } = evaluateLoss(input);
    exact.add(parts.Lbulla, row.Lbulla_dB!, `row ${row.row} Lbulla`);
    exact.add(parts.Lbulls, row.Lbulls_dB!, `row ${row.row} Lbulls`);
    smooth.add(parts.Ldsph, row.Ldsph_dB!, `row ${row.row} Ldsph`);
    smooth.add(parts.Ld, row.L_dB!, `row ${row.row} Ld`);
    heights.add(parts.htep, row.htep_m!, `row ${row.row} htep`);
    heights.add(parts.hrep, row.hrep_m!, `row ${row.row} hrep`);
    expect(lossDb).toBeCloseTo(parts.Ld! + parts.Lbfs!, 12);
  }
  exact.check(20);
  smooth.check(20);
  heights.check(20);
});

test("the smooth profile by halving equals the walk over all its points", () => {
  let seed = 7;
  const random = () => {
    seed = (seed * 1664525 + 1013904223) % 4294967296;
    return seed / 4294967296;
  };
  for (let k = 0; k < 2000; k++) {
    const n = 2 + Math.floor(random() * 60);
    const d = new Float64Array(n);
    for (let i = 1; i < n; i++) d[i] = d[i - 1]! + 10 ** (random() * 4 - 3);
    const zero = new Float64Array(n);
    const h1 = 10 ** (random() * 5 - 2);
    const h2 = 10 ** (random() * 5 - 2);
    const radius = 6371 + random() * 13000;
    const lambda = 10 ** (random() * 3 - 2);
    expect(smoothBullingtonLoss(d, n, h1, h2, radius, lambda)).toBeCloseTo(
      bullingtonLoss(d, zero, n, h1, h2, radius, lambda),
      8,
    );
  }
});

test("a void on the way, on the ground or on an obstacle, makes the loss unknown", () => {
  const link = { frequencyMHz: 760, txHeightM: 5, rxHeightM: 2, polarization: "vertical" } as const;
  const d = [0, 1, 2, 3, 4];
  expect(deltaBullington(radioProfile(d, [10, 10, Number.NaN, 10, 10]), link).lossDb).toBeNaN();
  expect(deltaBullington(radioProfile(d, [10, 10, 10, 10, Number.NaN]), link).lossDb).toBeNaN();
  expect(deltaBullington(radioProfile(d, [10, 10, 10, 10, 10], [0, Number.NaN, 0, 0, 0]), link).lossDb).toBeNaN();
  expect(deltaBullington(radioProfile(d, [10, 10, 10, 10, 10]), link).lossDb).toBeGreaterThan(100);
});
