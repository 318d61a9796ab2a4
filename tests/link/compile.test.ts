import fc from "fast-check";
import { expect, test } from "vitest";
import {
  type CompileArgs,
  compileNeed,
  DEFAULT_MODEL_SIGMA_DB,
  frequencyShiftDb,
  inverseNormal,
  locationSigmaDb,
  noiseDbm,
  TENT_LOSS_DB,
  VEHICLE_LOSS_DB,
} from "../../src/link/index.ts";
import { needBudget } from "../../src/plan/outputs/index.ts";
import type { LteService, NarrowbandService, Terminal, WifiService } from "../../src/plan/types.ts";
import { normalCdf as exactCdf } from "../../src/propagation/normal.ts";
import { entryLossDb } from "../../src/propagation/p2109.ts";
import { evenly } from "../support/arbitrary.ts";

const cell: LteService = {
  id: "cell",
  kind: "lte",
  downlinkMHz: 763,
  uplinkMHz: 763,
  channelMHz: 10,
  txPowerDbm: 37,
  cableLossDb: 1.5,
  noiseFigureDb: 4,
  antenna: { pattern: "omni", gainDbi: 9 },
  needs: [
    { id: "attach", rsrpDbm: -110 },
    { id: "talk", name: "voice and text", rsrpDbm: -115, downlinkMbps: 0.1, uplinkMbps: 0.1 },
    { id: "video", downlinkMbps: 1, uplinkMbps: 2 },
  ],
};
const phone: Terminal = { id: "phone", powerDbm: 23, gainDbi: -1, noiseFigureDb: 9, heightM: 1.5 };
const wifi: WifiService = {
  id: "wifi",
  kind: "wifi",
  frequencyMHz: 2437,
  channelMHz: 20,
  txPowerDbm: 27,
  antenna: { pattern: "omni", gainDbi: 5 },
  needs: [{ id: "data", levelDbm: -75, uplinkLevelDbm: -80 }],
};
const voice: NarrowbandService = {
  id: "voice",
  kind: "narrowband",
  downlinkMHz: 155,
  uplinkMHz: 160,
  channelKHz: 12.5,
  txPowerDbm: 44,
  antenna: { pattern: "omni", gainDbi: 3 },
  needs: [{ id: "portable", levelDbm: -106, uplinkLevelDbm: -110, daq: 3.4 }],
};

const lte = (need: number, more: Partial<CompileArgs> = {}) =>
  compileNeed({ service: cell, need: cell.needs[need]!, terminal: phone, place: "outdoor", ...more });

test("largest losses of a 5 W cell (planning notes: 125.7 dB at RSRP −110 with 9 dBi, 1.5 dB cable, −1 dBi)", () => {
  const attach = lte(0);
  expect(attach.maplDownlinkDb).toBeCloseTo(125.7, 1);
  expect(attach.maplUplinkDb).toBeNull();
  expect(attach.marginDb(120, -2)).toBeCloseTo(attach.maplDownlinkDb - 122, 12);
  // Two ports add 3 dB down; a 31 dBm terminal adds 8 dB up.
  const twoPorts = { ...cell, txPorts: 2 as const };
  expect(lte(0, { service: twoPorts }).maplDownlinkDb - attach.maplDownlinkDb).toBeCloseTo(3.01, 2);
  const video = lte(2);
  const strong = lte(2, { terminal: { ...phone, powerDbm: 31, powerClass: 1 } });
  expect(strong.maplUplinkDb! - video.maplUplinkDb!).toBeCloseTo(8, 10);
  // Video up is uplink-limited on a 5 W cell.
  expect(video.limitingDirection(120)).toBe("uplink");
  expect(video.maplUplinkDb!).toBeLessThan(video.maplDownlinkDb);
  expect(lte(0, { service: { ...cell, interferenceMarginDb: 3 } }).maplDownlinkDb).toBe(attach.maplDownlinkDb);
  expect(lte(2, { service: { ...cell, interferenceMarginDb: 3 } }).maplUplinkDb).toBeCloseTo(
    video.maplUplinkDb! - 3,
    10,
  );
});

test("the uplink's own frequency shifts its loss by the free-space term", () => {
  const up = { ...cell, uplinkMHz: 793 };
  const shift = 20 * Math.log10(793 / 763);
  expect(frequencyShiftDb(up)).toBeCloseTo(shift, 12);
  expect(lte(2, { service: up }).maplUplinkDb! + shift).toBeCloseTo(lte(2).maplUplinkDb!, 10);
});

test("the signal terms add up to the level, both ways, and the answer is of the published form", () => {
  const services = [
    ...cell.needs.map((need) => ({
      service: { ...cell, uplinkMHz: 793, txPorts: 2 as const, interferenceMarginDb: 2 },
      need,
    })),
    ...wifi.needs.map((need) => ({ service: wifi, need })),
    ...voice.needs.map((need) => ({ service: voice, need })),
  ];
  const terminal: Terminal = { ...phone, bodyLossDb: 3 };
  for (const place of ["outdoor", "tent", "vehicle", "indoor-traditional", "indoor-efficient"] as const)
    for (const { service, need } of services) {
      const compiled = compileNeed({ service, need, terminal, place, state: "full" });
      const budget = needBudget.parse(compiled.budget(104.5, -1.5));
      expect(budget.need).toBe(`${service.id}/${need.id}`);
      for (const way of [budget.downlink, budget.uplink]) {
        if (way === null) continue;
        const noise = way.terms.findIndex((t) => t.name === "thermal noise");
        const signal = way.terms.slice(0, noise).reduce((s, t) => s + t.value, 0);
        expect(signal).toBeCloseTo(way.levelDbm, 9);
        const against = way.terms
          .slice(noise)
          .filter((t) => ["thermal noise", "noise figure", "interference margin"].includes(t.name));
        expect(way.levelDbm - against.reduce((s, t) => s + t.value, 0)).toBeCloseTo(way.sinrDb!, 9);
        expect(way.terms.at(-1)!.value).toBeCloseTo(way.levelDbm - way.marginDb, 9);
        expect(way.maplDb - 104.5 - 1.5).toBeCloseTo(way.marginDb, 9);
        for (const t of way.terms) expect(t.source).not.toBe("");
      }
      expect(budget.marginDb).toBeCloseTo(
        Math.min(budget.downlink.marginDb, budget.uplink?.marginDb ?? Number.POSITIVE_INFINITY),
        9,
      );
      expect(budget.marginDb).toBeCloseTo(compiled.marginDb(104.5, -1.5), 9);
      expect(compiled.levelDbm(104.5, -1.5)).toBeCloseTo(budget.downlink.levelDbm, 9);
      expect(compiled.thresholdDbm).toBeCloseTo(budget.downlink.levelDbm - budget.downlink.marginDb, 9);
      const limiting = budget.limitingDirection === "uplink" ? budget.uplink! : budget.downlink;
      expect(limiting.marginDb).toBeCloseTo(budget.marginDb, 9);
    }
});

test("at its largest loss a need is just met", () => {
  const video = lte(2);
  const edge = video.budget(video.maplUplinkDb! - 1e-9, 0);
  expect(edge.uplink!.rateMbps!).toBeGreaterThanOrEqual(2 - 1e-6);
  expect(edge.uplink!.sinrDb!).toBeCloseTo(edge.uplink!.terms.find((t) => t.name === "SINR needed")!.value, 6);
  expect(video.budget(video.maplUplinkDb! + 0.01, 0).uplink!.rateMbps!).toBeLessThan(2);
  expect(video.budget(video.maplDownlinkDb - 1e-9, 0).downlink.rateMbps!).toBeGreaterThanOrEqual(1 - 1e-6);
  expect(video.probability(video.maplUplinkDb!, 0)).toBeCloseTo(0.5, 8);
  expect(video.ratesMbps(110, 0).uplink).toBe(video.budget(110, 0).uplink!.rateMbps);
});

test("places cost what they cost", () => {
  const outdoor = lte(1).maplDownlinkDb;
  const at = (place: CompileArgs["place"], terminal = phone) => outdoor - lte(1, { place, terminal }).maplDownlinkDb;
  expect(at("tent")).toBeCloseTo(TENT_LOSS_DB, 10);
  expect(at("vehicle")).toBeCloseTo(VEHICLE_LOSS_DB, 10);
  expect(VEHICLE_LOSS_DB).toBe(8);
  expect(at("vehicle", { ...phone, vehicleLossDb: 6 })).toBeCloseTo(6, 10);
  // By hand from P.2109-1 at 763 MHz, log f = -0.11748: L_h = 12.216 and 28.660 dB (planning notes quote these, 12 and 29),
  // μ2 = 9.452 and 28.141 dB; the median is their power sum with -3 dB.
  const sum = (a: number, b: number) => 10 * Math.log10(10 ** (a / 10) + 10 ** (b / 10) + 10 ** -0.3);
  expect(at("indoor-traditional")).toBeCloseTo(sum(12.216, 9.452), 2);
  expect(at("indoor-efficient")).toBeCloseTo(sum(28.66, 28.141), 2);
  expect(at("indoor-traditional")).toBeCloseTo(entryLossDb("traditional", 763, 0, 0.5), 10);
  expect(lte(1, { place: "indoor-traditional" }).indicative).toBe(true);
  expect(lte(1, { place: "indoor-traditional" }).medianEntryDb).toBeCloseTo(at("indoor-traditional"), 10);
});

test("probability is Φ(margin/σ) of location and model error together", () => {
  const need = lte(1);
  expect(need.sigmaModelDb).toBe(DEFAULT_MODEL_SIGMA_DB);
  expect(need.sigmaModelSource).toMatch(/^assumed/);
  expect(need.sigmaLocationDb).toBeCloseTo((0.52 + 0.024 * 0.763) * 100 ** 0.28, 12);
  expect(need.sigmaDb).toBeCloseTo(Math.hypot(need.sigmaLocationDb, need.sigmaModelDb), 12);
  fc.assert(
    fc.property(evenly(60, 190), evenly(-25, 0), evenly(0.5, 15), (loss, pattern, sigma) => {
      const n = lte(1, { modelSigmaDb: sigma, locationSigmaDb: 0 });
      const p = n.probability(loss, pattern);
      expect(Math.abs(p - exactCdf(n.marginDb(loss, pattern) / sigma))).toBeLessThan(1e-7);
      expect(n.probability(loss + 1, pattern)).toBeLessThanOrEqual(p);
    }),
    { seed: 2, numRuns: 500 },
  );
  const target = lte(1, { service: { ...cell, modelSigmaDb: 8, locationSigmaDb: 0 } });
  const mapl = Math.min(target.maplDownlinkDb, target.maplUplinkDb!);
  expect(target.probability(mapl - 8 * inverseNormal(0.95), 0)).toBeCloseTo(0.95, 8);
  expect(need.probability(Number.NaN, 0)).toBeNaN();
  expect(need.marginDb(Number.NaN, 0)).toBeNaN();
  // No spread at all is a step.
  const step = lte(1, { modelSigmaDb: 0, locationSigmaDb: 0 });
  const edge = Math.min(step.maplDownlinkDb, step.maplUplinkDb!);
  expect(step.probability(edge - 0.2, 0)).toBe(1);
  expect(step.probability(edge + 0.2, 0)).toBe(0);
});

test("location variability of Rec. ITU-R P.1812 §4.10", () => {
  // By hand: 0.5344 · 500^0.28 = 0.5344 · 5.6975.
  expect(locationSigmaDb(600, 500)).toBeCloseTo(3.0447, 3);
  expect(locationSigmaDb(763, 1)).toBeCloseTo(0.538312, 12);
});

test.each(["indoor-traditional", "indoor-efficient"] as const)(
  "%s: the average over P.2109, by another rule",
  (place) => {
    const buildingClass = place === "indoor-efficient" ? "efficient" : "traditional";
    for (const sigma of [1, 3, 8.24, 12]) {
      const need = lte(1, { place, modelSigmaDb: sigma, locationSigmaDb: 0 });
      const outdoor = Math.min(need.maplDownlinkDb, need.maplUplinkDb!) + need.medianEntryDb;
      for (const loss of [60, 80, 95, 105, 112.3, 120, 130, 141]) {
        // Midpoint rule in the probability itself, 40,000 points; its own error is below 1e-5.
        let sum = 0;
        const n = 40_000;
        for (let i = 0; i < n; i++)
          sum += exactCdf((outdoor - loss - entryLossDb(buildingClass, 763, 0, (i + 0.5) / n)) / sigma);
        expect(Math.abs(need.probability(loss, 0) - sum / n)).toBeLessThan(2e-5);
      }
      // A much finer rule in the normal deviate, over a wider span.
      for (let loss = 40; loss < 180; loss += 9.7) {
        let sum = 0;
        let weight = 0;
        for (let z = -7; z <= 7; z += 0.004) {
          const w = Math.exp((-z * z) / 2);
          weight += w;
          sum += w * exactCdf((outdoor - loss - entryLossDb(buildingClass, 763, 0, exactCdf(z))) / sigma);
        }
        expect(Math.abs(need.probability(loss, 0) - sum / weight)).toBeLessThan(1e-7);
      }
      let before = 1;
      for (let loss = -50; loss < 220; loss += 0.37) {
        const p = need.probability(loss, 0);
        expect(p).toBeLessThanOrEqual(before + 1e-9);
        expect(p).toBeGreaterThanOrEqual(-1e-12);
        before = p;
      }
    }
  },
);

test("Wi-Fi and narrowband: levels both ways", () => {
  const data = compileNeed({
    service: wifi,
    need: wifi.needs[0]!,
    terminal: { id: "t", powerDbm: 15 },
    place: "outdoor",
  });
  expect(data.maplDownlinkDb).toBeCloseTo(27 + 5 + 75, 10);
  expect(data.maplUplinkDb).toBeCloseTo(15 + 5 + 80, 10);
  expect(data.limitingDirection(0)).toBe("uplink");
  expect(data.budget(97, 0).downlink.rateMbps).toBe(58.5);
  const oneWay = compileNeed({ service: wifi, need: { id: "x", levelDbm: -75 }, terminal: phone, place: "outdoor" });
  expect(oneWay.maplUplinkDb).toBeNull();
  expect(oneWay.budget(90, 0).uplink).toBeNull();
  const radio = compileNeed({
    service: voice,
    need: voice.needs[0]!,
    terminal: { id: "p", powerDbm: 37 },
    place: "outdoor",
  });
  expect(radio.maplDownlinkDb).toBeCloseTo(44 + 3 + 106, 10);
  expect(radio.maplUplinkDb).toBeCloseTo(37 + 3 + 110 - 20 * Math.log10(160 / 155), 10);
  const { sinrDb, levelDbm, rateMbps } = radio.budget(140, 0).uplink!;
  expect(sinrDb).toBeCloseTo(levelDbm - noiseDbm(12_500, 5), 9);
  expect(rateMbps).toBeNull();
});

test("needs that cannot be are refused with the most the channel carries", () => {
  const ask = (need: LteService["needs"][number]) => () =>
    compileNeed({ service: cell, need, terminal: phone, place: "outdoor" });
  expect(ask({ id: "x" })).toThrow(/asks for nothing/);
  expect(ask({ id: "x", downlinkMbps: 50 })).toThrow(/more than the channel carries/);
  expect(ask({ id: "x", uplinkMbps: 20 })).toThrow(/more than the channel carries/);
  expect(ask({ id: "x", downlinkMbps: 39 })).not.toThrow();
});

test("a weaker unit, a longer cable, a louder receiver never help", () => {
  fc.assert(
    fc.property(evenly(20, 46), evenly(0, 6), evenly(0, 12), evenly(0.01, 15), (power, cable, figure, rate) => {
      const need = { id: "n", downlinkMbps: rate, uplinkMbps: rate };
      const make = (p: number, c: number, f: number) =>
        compileNeed({
          service: { ...cell, txPowerDbm: p, cableLossDb: c, noiseFigureDb: f },
          need,
          terminal: phone,
          place: "outdoor",
        });
      const a = make(power, cable, figure);
      expect(make(power - 1, cable, figure).maplDownlinkDb).toBeCloseTo(a.maplDownlinkDb - 1, 9);
      expect(make(power, cable + 1, figure).maplUplinkDb).toBeCloseTo(a.maplUplinkDb! - 1, 9);
      expect(make(power, cable, figure + 1).maplUplinkDb).toBeCloseTo(a.maplUplinkDb! - 1, 9);
    }),
    { seed: 6, numRuns: 200 },
  );
});
