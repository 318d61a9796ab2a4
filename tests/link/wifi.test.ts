import { expect, test } from "vitest";
import { cableLossDb, WIFI_STEPS, wifiRateMbps, wifiSensitivityDbm } from "../../src/link/index.ts";
import tables from "../reference/3gpp-ieee-link/tables.json" with { type: "json" };

test("sensitivity of every step and width (IEEE Std 802.11)", () => {
  const rows = tables.wifi_min_sensitivity.rows as [string, string, number, number, number, number][];
  expect(rows).toHaveLength(WIFI_STEPS.length);
  for (const [i, [modulation, rate, ...levels]] of rows.entries()) {
    expect(WIFI_STEPS[i]!.modulation).toBe(`${modulation} ${rate}`);
    for (const [w, width] of [20, 40, 80].entries()) expect(wifiSensitivityDbm(i, width)).toBe(levels[w]);
  }
});

test("rates of one stream, long guard interval (IEEE Std 802.11n and ac rate tables, from memory)", () => {
  expect([-82, -79, -77, -74, -70, -66, -65, -64].map((dbm) => wifiRateMbps(dbm, 20))).toEqual([
    6.5, 13, 19.5, 26, 39, 52, 58.5, 65,
  ]);
  expect(wifiRateMbps(-61, 40)).toBe(135);
  expect(wifiRateMbps(-51, 80)).toBe(390);
  expect(wifiRateMbps(-83, 20)).toBe(0);
});

test("cable by type and length (common practice: 7 m mast jumper 0.8 and 1.6 dB at 700–760 MHz; 6.6 and 12.6 dB per 100 ft at 2.4 GHz)", () => {
  expect(cableLossDb("foam-10mm", 7, 763)).toBeCloseTo(0.8, 1);
  expect(cableLossDb("foam-6mm", 7, 763)).toBeCloseTo(1.6, 1);
  // The root law leaves out the dielectric's part, so it falls short by a few tenths at 2.4 GHz.
  expect(Math.abs(cableLossDb("foam-10mm", 30.48, 2400) - 6.6)).toBeLessThan(0.3);
  expect(Math.abs(cableLossDb("foam-6mm", 30.48, 2400) - 12.6)).toBeLessThan(0.3);
});
