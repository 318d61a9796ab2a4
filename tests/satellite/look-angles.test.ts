import { readFileSync } from "node:fs";
import fc from "fast-check";
import { expect, test } from "vitest";
import { lookRow } from "../../src/plan/outputs/index.ts";
import { lookAngles, visibleArc } from "../../src/satellite/index.ts";
import { hasShared, shared } from "../support/tools.ts";

const rows = (file: string): Record<string, string>[] => {
  const [head, ...lines] = readFileSync(file, "utf8").trim().split(/\r?\n/);
  const names = head!.split(",");
  return lines.map((l) => {
    const cells = [...l.matchAll(/(?:^|,)("[^"]*"|[^,]*)/g)].map((m) => m[1]!);
    return Object.fromEntries(names.map((n, i) => [n, cells[i] ?? ""]));
  });
};
const site = (lng: number, lat: number, heightM = 0) => ({ lng, lat, heightM });
const apart = (a: number, b: number) => Math.abs(((((a - b + 540) % 360) + 360) % 360) - 180);

// ITU-R WP 3J/3M validation workbook Rev. 8.1.1 (2024): elevations as published.
test("elevations of the ITU-R workbook to 1e-9 degrees, azimuth and range to 1e-6", () => {
  if (!hasShared()) return;
  for (const r of rows(shared("validation", "look_angles", "itu_workbook_elevations_wgs84.csv"))) {
    const look = lookAngles(
      site(Number(r.lon_deg_E), Number(r.lat_deg), Number(r.hs_km) * 1000),
      Number(r.sat_lon_deg_E),
      0,
    );
    expect(Math.abs(look.elevationDeg - Number(r.elev_deg_published))).toBeLessThan(1e-9);
    expect(apart(look.azimuthDeg, Number(r.az_deg_computed))).toBeLessThan(1e-6);
    expect(Math.abs(look.rangeKm - Number(r.slant_range_km_computed))).toBeLessThan(1e-5);
    expect(look.visible).toBe(true);
  }
});

// Roddy, Satellite Communications, 4th ed., Examples 3.1 and 3.2; Richharia & Westbrook §2.2.3. Both use a sphere.
test.each([
  [35, -100, -90, 162.9, 48, 37215],
  [51.5, 0, 19.2, 156.0, 28.4, null],
])("textbook example at latitude %d", (lat, lng, satellite, azimuth, elevation, range) => {
  const look = lookAngles(site(lng, lat), satellite, 0);
  expect(apart(look.azimuthDeg, azimuth)).toBeLessThan(0.2);
  // Printed to the degree or tenth, and a sphere differs by a few hundredths.
  expect(Math.abs(look.elevationDeg - elevation)).toBeLessThan(elevation === 48 ? 0.6 : 0.1);
  if (range !== null) expect(Math.abs(look.rangeKm - range)).toBeLessThan(25);
});

const lng = fc.double({ min: -180, max: 180, noNaN: true });
const lat = fc.double({ min: -81, max: 81, noNaN: true });

test("mirroring the site across the equator mirrors azimuth and keeps elevation; skew changes sign", () => {
  fc.assert(
    fc.property(lng, fc.double({ min: 0.01, max: 80, noNaN: true }), lng, (x, y, s) => {
      const n = lookAngles(site(x, y), s, 0);
      const o = lookAngles(site(x, -y), s, 0);
      expect(Math.abs(n.elevationDeg - o.elevationDeg)).toBeLessThan(1e-9);
      expect(apart(n.azimuthDeg, 180 - o.azimuthDeg)).toBeLessThan(1e-7);
      if (Math.abs(n.skewDeg) < 89.99) expect(Math.abs(n.skewDeg + o.skewDeg)).toBeLessThan(1e-7);
    }),
  );
});

test("turning site and satellite together round the axis changes nothing, also across the antimeridian", () => {
  fc.assert(
    fc.property(lng, lat, lng, fc.integer({ min: -180, max: 180 }), (x, y, s, turn) => {
      const a = lookAngles(site(x, y), s, 0);
      const wrap = (v: number) => ((((v + turn + 180) % 360) + 360) % 360) - 180;
      const b = lookAngles(site(wrap(x), y), wrap(s), 0);
      expect(Math.abs(a.elevationDeg - b.elevationDeg)).toBeLessThan(1e-8);
      expect(Math.abs(a.rangeKm - b.rangeKm)).toBeLessThan(1e-6);
    }),
  );
});

test("swapping the sign of the longitude difference mirrors azimuth and skew", () => {
  fc.assert(
    fc.property(lat, fc.double({ min: 0.01, max: 75, noNaN: true }), (y, d) => {
      const east = lookAngles(site(0, y), d, 0);
      const west = lookAngles(site(0, y), -d, 0);
      expect(apart(east.azimuthDeg, 360 - west.azimuthDeg)).toBeLessThan(1e-8);
      if (Math.abs(east.skewDeg) < 89.99) expect(Math.abs(east.skewDeg + west.skewDeg)).toBeLessThan(1e-8);
    }),
  );
});

test("skew agrees with the small-Earth form atan(sin(site − satellite) / tan(latitude)) to a degree, with its sign", () => {
  // Textbook form, common practice: seen from behind the dish a satellite to the east leans to the left in the north.
  fc.assert(
    fc.property(fc.double({ min: 5, max: 60, noNaN: true }), fc.double({ min: -50, max: 50, noNaN: true }), (y, d) => {
      const look = lookAngles(site(d, y), 0, 0);
      const flat = (Math.atan2(Math.sin((d * Math.PI) / 180), Math.tan((y * Math.PI) / 180)) * 180) / Math.PI;
      // The form neglects the Earth's size against the orbit's: up to about a tenth of the angle.
      expect(Math.abs(look.skewDeg - flat)).toBeLessThan(1 + 0.11 * Math.abs(flat));
      if (Math.abs(d) > 1) expect(Math.sign(look.skewDeg)).toBe(Math.sign(d));
    }),
  );
});

test("skew agrees with the exact vector form on a sphere-like vertical", () => {
  // r = −P, k = P − S, e = axis; f = r × k, g = k × e, h = g × k, tilt = asin(h·f / |h||f|), here positive towards the east.
  const cross = (a: number[], b: number[]) => [
    a[1]! * b[2]! - a[2]! * b[1]!,
    a[2]! * b[0]! - a[0]! * b[2]!,
    a[0]! * b[1]! - a[1]! * b[0]!,
  ];
  const dot = (a: number[], b: number[]) => a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!;
  const sizeOf = (a: number[]) => Math.sqrt(dot(a, a));
  fc.assert(
    fc.property(fc.double({ min: 2, max: 70, noNaN: true }), fc.double({ min: -60, max: 60, noNaN: true }), (y, d) => {
      const look = lookAngles(site(d, y), 0, 0);
      if (!look.visible) return;
      const [phi, dl] = [(y * Math.PI) / 180, (d * Math.PI) / 180];
      // The geodetic vertical stands for r: the dish is plumbed, not aimed at the Earth's centre.
      const u = [Math.cos(phi) * Math.cos(dl), Math.cos(phi) * Math.sin(dl), Math.sin(phi)];
      const n = 6378.137 / Math.sqrt(1 - 0.00669437999014 * Math.sin(phi) ** 2);
      const p = [n * u[0]!, n * u[1]!, n * (1 - 0.00669437999014) * u[2]!];
      const k = [p[0]! - 42164.2, p[1]!, p[2]!];
      const f = cross([-u[0]!, -u[1]!, -u[2]!], k);
      const h = cross(cross(k, [0, 0, 1]), k);
      const tilt = (Math.asin(dot(h, f) / (sizeOf(h) * sizeOf(f))) * 180) / Math.PI;
      expect(Math.abs(Math.abs(look.skewDeg) - Math.abs(tilt))).toBeLessThan(1e-6);
    }),
  );
});

test("below, above and beyond: equator, pole, horizon, straight below the satellite", () => {
  const under = lookAngles(site(20, 0), 20, 3);
  expect(under).toMatchObject({ azimuthDeg: 0, skewDeg: 0, azimuthMagneticDeg: 357, visible: true });
  expect(under.elevationDeg).toBeCloseTo(90, 9);
  expect(under.rangeKm).toBeCloseTo(42164.2 - 6378.137, 6);
  expect(lookAngles(site(0, 0), 40, 0)).toMatchObject({ skewDeg: 90 });
  expect(lookAngles(site(0, 0), 40, 0).azimuthDeg).toBeCloseTo(90, 9);
  expect(lookAngles(site(0, 0), -40, 0)).toMatchObject({ skewDeg: 90 });
  expect(lookAngles(site(0, 0), -40, 0).azimuthDeg).toBeCloseTo(270, 9);
  for (const y of [90, -90]) {
    const pole = lookAngles(site(0, y), 10, 0);
    expect(pole.visible).toBe(false);
    expect(Number.isFinite(pole.azimuthDeg + pole.skewDeg + pole.elevationRefractedDeg)).toBe(true);
  }
  // The horizon of the geostationary arc lies near 81.3 degrees of latitude.
  expect(lookAngles(site(0, 81.2), 0, 0).visible).toBe(true);
  expect(lookAngles(site(0, 81.5), 0, 0).visible).toBe(false);
  expect(lookAngles(site(0, 40), 180, 0).elevationDeg).toBeLessThan(-20);
  expect(lookAngles(site(179.5, 10), -179.5, 0).elevationDeg).toBeCloseTo(
    lookAngles(site(0.5, 10), 1.5, 0).elevationDeg,
    9,
  );
});

test("a row fits the published contract; azimuths stay below 360", () => {
  fc.assert(
    fc.property(lng, lat, lng, fc.double({ min: -180, max: 180, noNaN: true }), (x, y, s, d) => {
      const row = lookRow.parse(lookAngles(site(x, y, 120), s, d));
      for (const a of [row.azimuthDeg, row.azimuthMagneticDeg]) expect(a >= 0 && a < 360).toBe(true);
      expect(row.skewDeg > -90 && row.skewDeg <= 90).toBe(true);
      expect(row.elevationRefractedDeg).toBeGreaterThanOrEqual(row.elevationDeg);
    }),
  );
});

test("refraction falls with elevation and height, and has no step at 10 degrees", () => {
  // From memory, radio refraction near the ground: about 0.14° at 5°, 0.08° at 10°, 0.03° at 30°.
  const at = (y: number, h = 0) => {
    let [low, high] = [0, 81.4];
    for (let i = 0; i < 60; i++) {
      const mid = (low + high) / 2;
      if (lookAngles(site(0, mid, h), 0, 0).elevationDeg > y) low = mid;
      else high = mid;
    }
    const look = lookAngles(site(0, low, h), 0, 0);
    return look.elevationRefractedDeg - look.elevationDeg;
  };
  expect(at(5)).toBeGreaterThan(0.12);
  expect(at(5)).toBeLessThan(0.21);
  expect(at(10)).toBeCloseTo(at(10.001), 4);
  expect(at(30)).toBeLessThan(0.035);
  expect(at(5, 2500)).toBeLessThan(at(5));
});

test("the visible arc runs from east to west in whole slots above the horizon", () => {
  const arc = visibleArc(site(-97, 42), 2);
  expect(arc.length).toBeGreaterThan(120);
  for (const row of arc) expect(row.elevationDeg).toBeGreaterThan(0);
  expect(arc[0]!.azimuthDeg).toBeLessThan(arc.at(-1)!.azimuthDeg);
  expect(arc.every((r) => Number.isInteger(r.satelliteDeg))).toBe(true);
  expect(visibleArc(site(0, 85), 0)).toEqual([]);
});

test("positions that are not on the globe are told so", () => {
  expect(() => lookAngles(site(0, 91), 0, 0)).toThrowError(/latitude/);
  expect(() => lookAngles(site(Number.NaN, 0), 0, 0)).toThrowError(/longitude/);
  expect(() => lookAngles(site(0, 0), Number.POSITIVE_INFINITY, 0)).toThrowError(/satellite/);
});
