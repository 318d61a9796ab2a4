import fc from "fast-check";
import { expect, test } from "vitest";
import {
  bestUplink,
  blocksFor,
  DOWNLINK_CURVE,
  noiseDbm,
  perElementDbm,
  RB_HZ,
  RE_HZ,
  requiredSinrDb,
  resourceBlocks,
  spectralEfficiency,
  UPLINK_CURVE,
  uplinkMaplDb,
  uplinkRate,
} from "../../src/link/index.ts";
import tables from "../reference/3gpp-ieee-link/tables.json" with { type: "json" };
import { evenly } from "../support/arbitrary.ts";

test("resource blocks (3GPP TS 36.101 Table 5.6-1)", () => {
  for (const [mhz, blocks] of Object.entries(tables.lte_bandwidth_to_rb.MHz_to_RB))
    expect(resourceBlocks(Number(mhz))).toBe(blocks);
});

test("truncated Shannon (3GPP TR 36.942 Annex A)", () => {
  const map = tables.tr36942_annexA_link_mapping;
  for (const [curve, want] of [
    [DOWNLINK_CURVE, map.downlink],
    [UPLINK_CURVE, map.uplink],
  ] as const) {
    expect(curve).toMatchObject({ alpha: want.alpha, minDb: want.snir_min_dB, cap: want.thr_max });
    expect(spectralEfficiency(want.snir_min_dB - 0.001, curve)).toBe(0);
    expect(spectralEfficiency(want.snir_min_dB, curve)).toBeCloseTo(want.alpha * Math.log2(1.1), 12);
    // The published upper ends are rounded: the cap is reached within a decibel of them.
    expect(spectralEfficiency(want.snir_max_dB + 1, curve)).toBe(want.thr_max);
    expect(spectralEfficiency(want.snir_max_dB - 1, curve)).toBeLessThan(want.thr_max);
    expect(spectralEfficiency(0, curve)).toBeCloseTo(want.alpha, 12);
  }
  expect(spectralEfficiency(Number.NaN, DOWNLINK_CURVE)).toBeNaN();
});

test("the downlink curve stays under the standard's own modulation steps (3GPP TS 36.213 Table 7.2.3-1)", () => {
  const highest = Math.max(...(tables.lte_cqi_table.rows as [number, string, number, number][]).map((r) => r[3]));
  expect(DOWNLINK_CURVE.cap).toBeLessThan(highest);
});

test("required ratio is the inverse of the rate, and says when the cap forbids it", () => {
  fc.assert(
    fc.property(evenly(0.01, 39.5), (mbps) => {
      const sinr = requiredSinrDb(mbps, 50 * RB_HZ, DOWNLINK_CURVE);
      const got = (spectralEfficiency(sinr, DOWNLINK_CURVE) * 50 * RB_HZ) / 1e6;
      if (sinr > -10) expect(got).toBeCloseTo(mbps, 9);
      else expect(got).toBeGreaterThanOrEqual(mbps);
    }),
    { seed: 4 },
  );
  expect(requiredSinrDb(39.6, 9e6, DOWNLINK_CURVE)).toBeLessThan(23);
  expect(requiredSinrDb(39.7, 9e6, DOWNLINK_CURVE)).toBe(Number.POSITIVE_INFINITY);
  expect(requiredSinrDb(0, 9e6, DOWNLINK_CURVE)).toBe(-10);
});

test("worked figures of a 5 W cell on 10 MHz at 763 MHz (planning notes; inputs and results rounded to 0.1 dB)", () => {
  expect(perElementDbm(37, 50)).toBeCloseTo(9.2, 1);
  const downAtZero = perElementDbm(37, 50) + 9 - 1.5 - 1;
  expect(downAtZero + 110).toBeCloseTo(125.7, 1);
  expect(downAtZero + 120).toBeCloseTo(135.7, 1);
  // −5 dB over the noise of one resource element behind 9 dB: RSRP −128, loss 143.7 with the level rounded first.
  expect(noiseDbm(RE_HZ, 9) - 5).toBeCloseTo(-128.2, 1);
  expect(Math.abs(downAtZero - (noiseDbm(RE_HZ, 9) - 5) - 143.7)).toBeLessThan(0.3);
  expect(uplinkMaplDb(23 - 1 + 9 - 1.5, 4, -3, 4, 0)).toBeCloseTo(143.9, 1);
  expect(uplinkMaplDb(31 - 1 + 9 - 1.5, 4, -3, 4, 0)).toBeCloseTo(151.9, 1);
  // "drops to about 133 dB" for 25 blocks at 0 dB; no decimals given.
  expect(Math.abs(uplinkMaplDb(23 - 1 + 9 - 1.5, 25, 0, 4, 0) - 133)).toBeLessThan(1.01);
});

test("the uplink takes the number of blocks that reaches furthest, by trying them all", () => {
  fc.assert(
    fc.property(evenly(0, 17.9), evenly(-10, 30), (rate, level) => {
      const best = bestUplink(rate, level, 50, 4, 1);
      let brute = Number.NEGATIVE_INFINITY;
      for (let n = 1; n <= 50; n++) {
        // A direct search in loss for this number of blocks.
        let low = -500;
        let high = 500;
        const meets = (loss: number) => {
          const sinr = level - loss - noiseDbm(n * RB_HZ, 4) - 1;
          return sinr >= -10 && (spectralEfficiency(sinr, UPLINK_CURVE) * n * RB_HZ) / 1e6 >= rate;
        };
        if (!meets(low)) continue;
        for (let i = 0; i < 60; i++) {
          const mid = (low + high) / 2;
          if (meets(mid)) low = mid;
          else high = mid;
        }
        brute = Math.max(brute, low);
      }
      expect(best.maplDb).toBeCloseTo(brute, 6);
      // Just inside that loss the rate is reached, just outside it is not.
      if (rate > 0) {
        expect(uplinkRate(level - best.maplDb + 1e-6, 50, 4, 1).rateMbps).toBeGreaterThanOrEqual(rate);
        expect(uplinkRate(level - best.maplDb - 1e-6, 50, 4, 1).rateMbps).toBeLessThan(rate + 1e-9);
        expect(blocksFor(rate, level - best.maplDb + 1e-6, 50, 4, 1)).not.toBeNull();
        expect(blocksFor(rate, level - best.maplDb - 1e-3, 50, 4, 1)).toBeNull();
      }
    }),
    { seed: 8, numRuns: 60 },
  );
  expect(bestUplink(18.1, 30, 50, 4, 0).maplDb).toBe(Number.NEGATIVE_INFINITY);
});
