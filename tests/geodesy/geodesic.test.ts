import { expect, test } from "vitest";
import { geodesicDirect, geodesicInverse } from "../../src/geodesy/index.ts";
import { wrap180 } from "../../src/units/index.ts";
import { csvRows } from "../support/rows.ts";
import { hasShared, shared } from "../support/tools.ts";

// C. Karney's GeodTest set for WGS 84 and the random lines of the GeographicLib tests.
const FILES = ["GeodTest-100_wgs84.csv", "geographiclib_20_random_wgs84.csv"];
const NANOMETRES_15 = 15e-9;

test.runIf(hasShared()).each(FILES)("every line of %s", (file) => {
  const rows = csvRows(shared("validation", "geodesic", file));
  expect(rows.length).toBeGreaterThan(9);
  for (const row of rows) {
    const v = (name: string) => Number(row[name]);
    const a = { lng: v("lon1_deg"), lat: v("lat1_deg") };
    const b = { lng: v("lon2_deg"), lat: v("lat2_deg") };
    const inverse = geodesicInverse(a, b);
    expect(Math.abs(inverse.distanceM - v("s12_m")), JSON.stringify(row)).toBeLessThanOrEqual(NANOMETRES_15);
    const direct = geodesicDirect(a, v("azi1_deg"), v("s12_m"));
    expect(Math.abs(direct.lat - b.lat)).toBeLessThan(1e-9);
    expect(Math.abs(wrap180(direct.lng - b.lng)) * Math.cos((b.lat * Math.PI) / 180)).toBeLessThan(1e-9);
    // Near the antipode a nanometre turns the line by more than the tolerance; the reduced length m12 tells how much.
    const sensitivity = Math.max(1e-9, (3 * NANOMETRES_15 * 57.3) / Math.max(Math.abs(v("m12_m")), 1e-6));
    if (sensitivity < 1e-3) {
      expect(Math.abs(wrap180(inverse.azimuthDeg - v("azi1_deg")))).toBeLessThan(sensitivity);
      expect(Math.abs(wrap180(inverse.backAzimuthDeg - v("azi2_deg") - 180))).toBeLessThan(sensitivity);
    }
  }
});

test("same place, antipodes, NaN", () => {
  expect(geodesicInverse({ lng: 5, lat: 6 }, { lng: 5, lat: 6 }).distanceM).toBe(0);
  // Half a meridian, pole to pole: 20,003,931.4586 m on WGS 84 (Karney 2013, §1).
  expect(geodesicInverse({ lng: 0, lat: 90 }, { lng: 0, lat: -90 }).distanceM).toBeCloseTo(20_003_931.4586, 4);
  expect(geodesicInverse({ lng: Number.NaN, lat: 0 }, { lng: 0, lat: 1 }).distanceM).toBeNaN();
});
