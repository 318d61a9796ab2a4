import fc from "fast-check";
import { forward } from "mgrs";
import { expect, test } from "vitest";
import {
  fromUtm,
  geodesicInverse,
  parseCoordinate,
  readMgrs,
  toUsng,
  toUtm,
  utmZone,
} from "../../src/geodesy/index.ts";
import { evenly } from "../support/arbitrary.ts";
import { csvRows } from "../support/rows.ts";
import { hasShared, shared } from "../support/tools.ts";

const file = (name: string) => csvRows(shared("validation", "mgrs", name));
const isPolar = (mgrs: string) => /^[ABYZ]/.test(mgrs);
const compact = (usng: string) => usng.replaceAll(" ", "");

test.runIf(hasShared())("UTM: published conversions to a micrometre both ways", () => {
  for (const row of file("utm_wgs84.csv")) {
    const utm = toUtm({ lng: Number(row.lon_deg), lat: Number(row.lat_deg) });
    expect(`${utm.zone}${utm.north ? "N" : "S"}`).toBe(row.zone_hemisphere);
    const decimals = row.northing_m!.split(".")[1]!.length;
    expect(utm.eastingM).toBeCloseTo(Number(row.easting_m), Math.min(decimals, 5));
    expect(utm.northingM).toBeCloseTo(Number(row.northing_m), Math.min(decimals, 5));
    const back = fromUtm(utm);
    expect(back.lat).toBeCloseTo(Number(row.lat_deg), 9);
    expect(back.lng).toBeCloseTo(Number(row.lon_deg), 9);
  }
});

// NGA GEOTRANS 3.9 test output. Digits may differ by one metre where a place lies on a truncation edge.
test.runIf(hasShared())("MGRS from places: every row of GEOTRANS 3.9, 1 m at most, polar rows refused", () => {
  let off = 0;
  let polar = 0;
  for (const row of file("geotrans3.9_geodetic_to_mgrs_wgs84.csv")) {
    const place = { lng: Number(row.lon_deg), lat: Number(row.lat_deg) };
    if (isPolar(row.mgrs_1m!)) {
      polar++;
      expect(() => toUsng(place)).toThrow(/polar grid/);
      continue;
    }
    const got = compact(toUsng(place));
    expect(got.length).toBe(15);
    const want = row.mgrs_1m!.padStart(15, "0");
    if (got === want) continue;
    off++;
    expect(got.slice(0, 5), row.geotrans_case!).toBe(want.slice(0, 5));
    expect(Math.abs(Number(got.slice(5, 10)) - Number(want.slice(5, 10)))).toBeLessThanOrEqual(1);
    expect(Math.abs(Number(got.slice(10)) - Number(want.slice(10)))).toBeLessThanOrEqual(1);
  }
  expect(off).toBeLessThan(15);
  expect(polar).toBeGreaterThan(0);
});

test.runIf(hasShared())("places from MGRS: every row of GEOTRANS 3.9 within its printed digits", () => {
  let read = 0;
  for (const row of file("geotrans3.9_mgrs_to_geodetic_wgs84.csv")) {
    if (isPolar(row.mgrs!)) {
      expect(() => parseCoordinate(row.mgrs!)).toThrow(/polar grid/);
      continue;
    }
    read++;
    const { corner } = readMgrs(row.mgrs!)!;
    const want = { lng: Number(row.lon_deg), lat: Number(row.lat_deg) };
    // Six decimals of a degree: half a unit is 0.056 m of latitude and as much at most of longitude.
    expect(geodesicInverse(corner, want).distanceM, JSON.stringify(row)).toBeLessThan(0.09);
  }
  expect(read).toBeGreaterThan(300);
});

test("an independent package names the same squares away from their edges", () => {
  fc.assert(
    fc.property(evenly(-179.99, 179.99), evenly(-79.99, 83.99), (lng, lat) => {
      // A hair west of a zone's edge both round, each its own way.
      fc.pre(Math.abs(lng / 6 - Math.round(lng / 6)) > 1e-9);
      const utm = toUtm({ lng, lat });
      // The package's own series is a few centimetres off; keep 1 m from the edges of its 10 m squares.
      for (const m of [utm.eastingM, utm.northingM]) fc.pre(m % 10 > 1 && m % 10 < 9);
      expect(compact(toUsng({ lng, lat }, 4))).toBe(forward([lng, lat], 4).padStart(13, "0"));
    }),
    { seed: 11, numRuns: 3000 },
  );
});

test("Norway, Svalbard, the antimeridian", () => {
  // Exceptions of NGA.SIG.0012 (Universal Grids): 32V reaches to 3° E, zones 32, 34 and 36 do not exist in band X.
  expect(utmZone({ lng: 2.99, lat: 60 })).toBe(31);
  expect(utmZone({ lng: 3, lat: 60 })).toBe(32);
  expect(utmZone({ lng: 3, lat: 64 })).toBe(31);
  expect([0, 8.9, 9, 20.9, 21, 32.9, 33, 41.9, 42].map((lng) => utmZone({ lng, lat: 78 }))).toEqual([
    31, 31, 33, 33, 35, 35, 37, 37, 38,
  ]);
  expect(utmZone({ lng: 180, lat: 0 })).toBe(1);
  expect(utmZone({ lng: -180, lat: 0 })).toBe(1);
  expect(utmZone({ lng: 179.999, lat: 0 })).toBe(60);
  expect(toUtm({ lng: 15, lat: 84 }).band).toBe("X");
});

test("digits are cut off, never rounded, and the square's own centre reads back as the square", () => {
  fc.assert(
    fc.property(
      evenly(-180, 180),
      evenly(-80, 84),
      fc.constantFrom(1, 2, 3, 4, 5) as fc.Arbitrary<1 | 2 | 3 | 4 | 5>,
      (lng, lat, digits) => {
        const long = compact(toUsng({ lng, lat }));
        const short = compact(toUsng({ lng, lat }, digits));
        expect(short).toBe(long.slice(0, 5) + long.slice(5, 5 + digits) + long.slice(10, 10 + digits));
        const square = readMgrs(short)!;
        const utm = toUtm({ lng, lat });
        expect(utm.eastingM - square.eastingM).toBeGreaterThanOrEqual(-1e-5);
        expect(utm.eastingM - square.eastingM).toBeLessThan(square.sizeM + 1e-5);
        expect(utm.northingM - square.northingM).toBeGreaterThanOrEqual(-1e-5);
        expect(utm.northingM - square.northingM).toBeLessThan(square.sizeM + 1e-5);
      },
    ),
    { seed: 3, numRuns: 3000 },
  );
});
