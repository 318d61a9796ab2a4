import { expect, test } from "vitest";
import { evaluateLoss, itmPointToPoint, type LossCase, radioProfile } from "../../src/propagation/index.ts";
import { select } from "../../src/propagation/itm-profile.kernel.ts";
import { itmFrequencyGain, itmHeightFunction, itmKnifeEdge } from "../../src/propagation/itm-reference.kernel.ts";
import { inverseComplementaryItm } from "../../src/propagation/normal.ts";
import { Worst } from "../support/accuracy.ts";
import { records, reference, type Table } from "../support/reference.ts";

const SOURCE = "NTIA ITM v1.4";
const steps = (stepM: number, n: number): number[] => Array.from({ length: n }, (_, i) => (i * stepM) / 1000);

test("point to point: the published cases", () => {
  const file = reference<Table & { profiles: { stepM: number; heightsM: number[] }[] }>("ntia-itm-1.4/p2p.json");
  const w = new Worst("itm", `${SOURCE} p2p.csv`, "A", 0.0051);
  records(file).forEach((row, k) => {
    const { stepM, heightsM } = file.profiles[k]!;
    const answer = evaluateLoss({
      model: "itm",
      frequencyMHz: row.f__mhz!,
      distancesKm: steps(stepM, heightsM.length),
      heightsM,
      txHeightM: row.h_tx__meter!,
      rxHeightM: row.h_rx__meter!,
      permittivity: row.epsilon!,
      conductivitySPerM: row.sigma!,
      n0: row.N_0!,
      polarization: row.pol === 1 ? "vertical" : "horizontal",
      climate: row.climate!,
      mdvar: row.mdvar!,
      timePct: row.time!,
      locationPct: row.location!,
      situationPct: row.situation!,
    });
    w.add(answer.lossDb, row.A__db!, `row ${row.source_row}`);
  });
  w.check(3);
});

test("area mode: the published cases", () => {
  const w = new Worst("itm", `${SOURCE} area.csv`, "A, area mode", 0.051);
  for (const row of records(reference<Table>("ntia-itm-1.4/area.json")))
    w.add(
      evaluateLoss({
        model: "itm",
        frequencyMHz: row.f__mhz!,
        distanceKm: row.d__km!,
        terrainIrregularityM: row.delta_h__meter!,
        txSiting: row.tx_siting_criteria!,
        rxSiting: row.rx_siting_criteria!,
        txHeightM: row.h_tx__meter!,
        rxHeightM: row.h_rx__meter!,
        permittivity: row.epsilon!,
        conductivitySPerM: row.sigma!,
        n0: row.N_0!,
        polarization: row.pol === 1 ? "vertical" : "horizontal",
        climate: row.climate!,
        mdvar: row.mdvar!,
        timePct: row.time!,
        locationPct: row.location!,
        situationPct: row.situation!,
      }).lossDb,
      row.A__db!,
      `row ${row.source_row}`,
    );
  w.check(3);
});

test("point to point command example: loss and every printed intermediate", () => {
  const file = reference<{
    stepM: number;
    heightsM: number[];
    inputs: Partial<LossCase>;
    expected: Record<string, number>;
  }>("ntia-itm-1.4/command_p2p.json");
  const { lossDb, parts, warnings } = evaluateLoss({
    model: "itm",
    distancesKm: steps(file.stepM, file.heightsM.length),
    heightsM: file.heightsM,
    ...file.inputs,
  } as LossCase);
  const e = file.expected;
  const w = new Worst("itm", `${SOURCE} command examples`, "intermediates, in printed digits", 0.51, "");
  w.add(lossDb / 0.1, e.A! / 0.1, "A");
  w.add(parts.Afs! / 0.1, e.Afs! / 0.1, "Afs");
  w.add(parts.theta1! * 1e6, e.theta1_mrad! * 1000, "theta1");
  w.add(parts.theta2! * 1e6, e.theta2_mrad! * 1000, "theta2");
  for (const name of ["L1", "L2", "mode"]) w.add(parts[name], e[name]!, name);
  for (const name of ["H1", "H2", "Ns", "dh", "Aref"]) w.add(parts[name]! / 0.1, e[name]! / 0.1, name);
  w.check(12);
  expect(warnings).toEqual([]);
});

test("area command examples: 57 values from 10 to 1000 km, and one with its intermediates", () => {
  const file = reference<{
    inputs: Partial<LossCase>;
    single: Record<string, number>;
    table: { reliabilityPct: number; rows: number[][] };
  }>("ntia-itm-1.4/command_area.json");
  const w = new Worst("itm", `${SOURCE} command examples`, "A and free space, area mode", 0.051);
  for (const [distanceKm, free, ...byConfidence] of file.table.rows)
    [50, 75, 90].forEach((confidencePct, i) => {
      const { lossDb, parts } = evaluateLoss({
        model: "itm",
        ...file.inputs,
        distanceKm,
        reliabilityPct: file.table.reliabilityPct,
        confidencePct,
      } as LossCase);
      w.add(lossDb, byConfidence[i]!, `${distanceKm} km at ${confidencePct} %`);
      w.add(parts.Afs, free!, `${distanceKm} km free space`);
    });
  const s = file.single;
  const { lossDb, parts } = evaluateLoss({
    model: "itm",
    ...file.inputs,
    distanceKm: s.distanceKm,
    reliabilityPct: s.reliabilityPct,
    confidencePct: s.confidencePct,
  } as LossCase);
  w.add(lossDb, s.A!, "single");
  w.check(115);
  expect(parts.theta1! * 1000).toBeCloseTo(s.theta1_mrad!, 3);
  expect(Math.abs(parts.L1! - s.L1!)).toBeLessThanOrEqual(0.51);
  expect(parts.mode).toBe(1);
});

test("the 1984 run: two paths, fifteen quantiles each", () => {
  const file = reference<{
    distanceKm: number;
    heightsM: number[];
    common: {
      polarization: "horizontal";
      permittivity: number;
      conductivitySPerM: number;
      climate: number;
      ns: number;
      mdvar: number;
    };
    runs: {
      frequencyMHz: number;
      txHeightM: number;
      rxHeightM: number;
      H: number[];
      dh: number;
      Afs: number;
      rows: number[][];
    }[];
  }>("ntia-itm-1.4/qkpfl.json");
  const n = file.heightsM.length - 1;
  const profile = radioProfile(steps((file.distanceKm * 1000) / n, n + 1), file.heightsM);
  const w = new Worst("itm", "ITS/NTIA 1.2.2 reference run (1984)", "A", 0.051);
  const { ns, ...common } = file.common;
  for (const run of file.runs) {
    const link = { ...common, frequencyMHz: run.frequencyMHz, txHeightM: run.txHeightM, rxHeightM: run.rxHeightM };
    // The run states surface refractivity itself: raise it to sea level by the profile's own mean height.
    const n0 = ns * Math.exp(itmPointToPoint(profile, link).hs / 9460);
    for (const [timePct, ...byConfidence] of run.rows)
      [50, 90, 10].forEach((situationPct, i) => {
        const r = itmPointToPoint(profile, { ...link, n0, timePct: timePct!, situationPct });
        w.add(r.lossDb, byConfidence[i]!, `${run.frequencyMHz} MHz, ${timePct} % time, ${situationPct} %`);
        expect(Math.abs(r.H1 - run.H[0]!)).toBeLessThanOrEqual(0.051);
        expect(Math.abs(r.H2 - run.H[1]!)).toBeLessThanOrEqual(0.051);
        expect(Math.abs(r.dh - run.dh)).toBeLessThanOrEqual(0.51);
        expect(Math.abs(r.Afs - run.Afs)).toBeLessThanOrEqual(0.051);
      });
  }
  w.check(30);
});

test("building blocks keep their computed values (regression, not published)", () => {
  const near = (got: number, want: number, digits = 5) => expect(got).toBeCloseTo(want, digits);
  near(itmKnifeEdge(0.25), 10.2575);
  near(itmKnifeEdge(1), 13.86);
  near(itmKnifeEdge(5.76), 20.55722);
  near(itmKnifeEdge(10), 22.953);
  near(itmHeightFunction(0.5, 5e-6), -117);
  near(itmHeightFunction(50, 5e-6), -49.04034);
  near(itmHeightFunction(50, 0.1), -34.37525);
  near(itmHeightFunction(150, 0.001), -29.95524);
  near(itmHeightFunction(500, 0.01), -4.17735);
  near(itmHeightFunction(3000, 0.01), 137.75835);
  near(itmFrequencyGain(1, 0.4), 16.9897);
  near(itmFrequencyGain(1, 2.5), 22.45653);
  near(itmFrequencyGain(10, 4.2), 2.77047);
  near(itmFrequencyGain(0.5, 7), 40.68223);
  near(inverseComplementaryItm(0.01), 2.326785);
  near(inverseComplementaryItm(0.9), -1.281729);
});

const area: LossCase = {
  model: "itm",
  frequencyMHz: 900,
  distanceKm: 60,
  terrainIrregularityM: 50,
  txHeightM: 10,
  rxHeightM: 3,
  txSiting: 0,
  rxSiting: 1,
  n0: 320,
  polarization: "vertical",
  climate: 5,
  permittivity: 15,
  conductivitySPerM: 0.005,
};

test("all modes of variability and climates keep their computed values (regression, not published)", () => {
  const modes: Record<number, number> = {
    0: 172.3629,
    1: 179.3162,
    2: 183.8737,
    3: 184.8731,
    10: 169.9585,
    11: 176.4948,
    12: 176.4948,
    13: 176.4948,
    20: 171.6471,
    21: 178.5189,
    22: 182.2128,
    23: 183.0723,
    30: 168.7364,
    31: 174.5541,
    32: 174.5541,
    33: 174.5541,
  };
  for (const [mdvar, want] of Object.entries(modes))
    expect(
      evaluateLoss({ ...area, mdvar: Number(mdvar), timePct: 90, locationPct: 80, situationPct: 70 }).lossDb,
      `mode ${mdvar}`,
    ).toBeCloseTo(want, 3);
  const climates: number[][] = [
    [155.4149, 166.7982, 177.9821, 211.9483],
    [140.8645, 165.5902, 180.177, 210.4635],
    [146.6461, 164.512, 176.9234, 217.0666],
    [143.8907, 168.101, 185.0402, 224.7919],
    [143.3323, 165.5902, 179.3292, 210.7327],
    [149.0817, 166.8866, 179.6837, 216.5255],
    [142.7759, 164.3903, 183.2571, 216.8524],
  ];
  climates.forEach(([t1, t50, t99, far99], i) => {
    const at = (timePct: number, distanceKm = 60) =>
      evaluateLoss({ ...area, climate: i + 1, mdvar: 3, timePct, distanceKm }).lossDb;
    expect(at(1)).toBeCloseTo(t1!, 3);
    expect(at(50)).toBeCloseTo(t50!, 3);
    expect(at(99)).toBeCloseTo(t99!, 3);
    expect(at(99, 200)).toBeCloseTo(far99!, 3);
  });
});

test("a flat profile is area mode with no irregularity and random siting", () => {
  for (const distanceKm of [2, 8, 15]) {
    const n = 100;
    const common = { frequencyMHz: 763, txHeightM: 6, rxHeightM: 1.5, mdvar: 12 } as const;
    const flat = evaluateLoss({
      model: "itm",
      ...common,
      distancesKm: steps((distanceKm * 1000) / n, n + 1),
      heightsM: Array(n + 1).fill(0),
    });
    const byArea = evaluateLoss({ model: "itm", ...common, distanceKm, terrainIrregularityM: 0 });
    expect(flat.lossDb).toBeCloseTo(byArea.lossDb, 2);
  }
});

test("order statistics agree with a full sort", () => {
  const values = Float64Array.from(
    { length: 245 },
    (_, i) =>
      Math.sin(i * 12.9898) * 43758.5453 - Math.floor(Math.sin(i * 12.9898) * 43758.5453) + (i % 7 === 0 ? 0.5 : 0),
  );
  const sorted = Float64Array.from(values).sort();
  for (const k of [0, 3, 24, 122, 220, 244]) expect(select(Float64Array.from(values), 245, k)).toBe(sorted[k]);
  expect(
    select(
      Float64Array.from({ length: 40 }, () => 1),
      40,
      5,
    ),
  ).toBe(1);
});

test.each([
  ["itm.distance-range", { distanceKm: 0.5 }],
  ["itm.distance-range", { distanceKm: 1500 }],
  ["itm.height-range", { txHeightM: 0.7 }],
  ["itm.frequency-range", { frequencyMHz: 15_000 }],
  ["itm.percentage-range", { timePct: 99.99 }],
])("%s outside the stated range, with a loss all the same", (code, change) => {
  const { lossDb, warnings } = evaluateLoss({ ...area, mdvar: 3, ...change } as LossCase);
  expect(warnings.map((w) => w.code)).toContain(code);
  expect(lossDb).toBeGreaterThan(0);
});

test.each([
  ["txHeightM", { txHeightM: 0.2 }],
  ["rxHeightM", { rxHeightM: 4000 }],
  ["frequencyMHz", { frequencyMHz: 10 }],
  ["n0", { n0: 200 }],
  ["mdvar", { mdvar: 5 }],
  ["conductivitySPerM", { conductivitySPerM: 0 }],
  ["climate", { climate: 8 }],
  ["reliabilityPct", { reliabilityPct: 90, timePct: 50 }],
])("what the model stops at is refused with its field: %s", (where, change) => {
  try {
    evaluateLoss({ ...area, ...change } as LossCase);
  } catch (error) {
    expect((error as { body: { where: string; code: string } }).body).toMatchObject({ where, code: "model.input" });
    return;
  }
  throw new Error("the case was answered");
});

test("a void makes the loss unknown, wherever it lies; unequal steps are resampled with a warning", () => {
  const link = { frequencyMHz: 763, txHeightM: 6, rxHeightM: 1.5, polarization: "vertical" } as const;
  for (const at of [0, 1, 25, 49, 50]) {
    const heights = Array.from({ length: 51 }, (_, i) => 100 + (i === at ? Number.NaN : 5 * Math.sin(i)));
    expect(itmPointToPoint(radioProfile(steps(50, 51), heights), link).lossDb, `void at ${at}`).toBeNaN();
  }
  const uneven = evaluateLoss({
    model: "itm",
    ...link,
    distancesKm: [0, 1, 2, 3.5, 5],
    heightsM: [10, 20, 15, 12, 10],
  });
  expect(uneven.warnings.map((w) => w.code)).toContain("itm.resampled");
});
