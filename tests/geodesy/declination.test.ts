import { expect, test } from "vitest";
import { decimalYear, declination, magneticField } from "../../src/geodesy/index.ts";
import { wrap180 } from "../../src/units/index.ts";
import { numberRows } from "../support/rows.ts";
import { hasShared, shared } from "../support/tools.ts";

const rows = (name: string) => numberRows(shared("validation", "wmm", name));

// NOAA/NCEI test values: 100 rows each for WMM2020 and WMM2025, columns as in the files' heads.
const SETS = [
  { name: "WMM2025_test_values_100.txt", epoch: 2025, toleranceNt: 0.01 },
  { name: "WMM2020_test_values.txt", epoch: 2020, toleranceNt: 0.05 },
] as const;

test.runIf(hasShared()).each(SETS)("every row of $name", ({ name, epoch, toleranceNt }) => {
  const all = rows(name);
  expect(all.length).toBeGreaterThan(49);
  for (const row of all) {
    const [year, heightKm, lat, lng, d, i, h, x, y, z, f] = row as [number, ...number[]] as number[];
    const got = magneticField({ lng: lng!, lat: lat! }, heightKm!, year!, epoch);
    const where = `row ${row.slice(0, 4).join(" ")}`;
    expect(Math.abs(wrap180(got.declinationDeg - d!)), where).toBeLessThanOrEqual(0.005 + 1e-9);
    expect(Math.abs(got.inclinationDeg - i!), where).toBeLessThanOrEqual(0.005 + 1e-9);
    for (const [a, b] of [
      [got.horizontalNt, h],
      [got.northNt, x],
      [got.eastNt, y],
      [got.downNt, z],
      [got.totalNt, f],
    ] as [number, number][])
      expect(Math.abs(a - b), where).toBeLessThanOrEqual(toleranceNt);
  }
});

// The 12 rows printed in the WMM2025 technical report.
test.runIf(hasShared())("every row of the report's table", () => {
  for (const row of rows("WMM2025_report_table_test_values.txt")) {
    const [year, heightKm, lat, lng, x, y, z, h, f, i, d] = row as number[];
    const got = magneticField({ lng: lng! > 180 ? lng! - 360 : lng!, lat: lat! }, heightKm!, year!);
    for (const [a, b] of [
      [got.northNt, x],
      [got.eastNt, y],
      [got.downNt, z],
      [got.horizontalNt, h],
      [got.totalNt, f],
    ] as [number, number][])
      expect(Math.abs(a - b)).toBeLessThanOrEqual(0.05 + 1e-9);
    expect(Math.abs(got.inclinationDeg - i!)).toBeLessThanOrEqual(0.005 + 1e-9);
    expect(Math.abs(wrap180(got.declinationDeg - d!))).toBeLessThanOrEqual(0.005 + 1e-9);
  }
});

test("dates choose the model and say when they are outside it", () => {
  const place = { lng: -96, lat: 41 };
  const at = (iso: string) => declination(place, 0.3, new Date(iso));
  expect(at("2022-06-01T00:00:00Z")).toMatchObject({ model: "WMM2020", withinEpoch: true });
  expect(at("2026-06-01T00:00:00Z")).toMatchObject({ model: "WMM2025", withinEpoch: true, compass: "usable" });
  expect(at("2031-06-01T00:00:00Z")).toMatchObject({ model: "WMM2025", withinEpoch: false });
  expect(at("2015-06-01T00:00:00Z")).toMatchObject({ model: "WMM2020", withinEpoch: false });
  // A later call must not be coloured by an earlier one: coefficients move with the date.
  const first = at("2026-06-01T00:00:00Z").declinationDeg;
  at("2029-06-01T00:00:00Z");
  expect(at("2026-06-01T00:00:00Z").declinationDeg).toBe(first);
});

test("uncertainty grows where the horizontal field is weak", () => {
  // Near the north magnetic pole, WMM2025 places it about 86° N 139° E; test row of 2025: H = 1504 nT at 89° N 121° W.
  const weak = declination({ lng: -121, lat: 89 }, 28, new Date("2025-01-01T00:00:00Z"));
  expect(weak.compass).toBe("unusable");
  expect(weak.uncertaintyDeg).toBeCloseTo(Math.hypot(0.26, 5417 / 1504.298), 3);
  const strong = declination({ lng: -96, lat: 41 }, 0, new Date("2026-01-01T00:00:00Z"));
  expect(strong.uncertaintyDeg).toBeGreaterThan(0.26);
  expect(strong.uncertaintyDeg).toBeLessThan(0.45);
});

test("decimal year", () => {
  expect(decimalYear(new Date("2025-01-01T00:00:00Z"))).toBe(2025);
  expect(decimalYear(new Date("2028-07-02T00:00:00Z"))).toBe(2028.5);
});
