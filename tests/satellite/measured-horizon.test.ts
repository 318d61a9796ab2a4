import { expect, test } from "vitest";
import {
  dishSettings,
  lookAngles,
  measuredAt,
  measuredHorizon,
  parseHorizon,
  skyFromSpot,
  viewFromSpot,
} from "../../src/satellite/index.ts";
import { box, makeScene } from "../support/scenes.ts";

const none = { declinationDeg: 0, convergenceDeg: 0 };
const ring = (elevation: (az: number) => number, step = 5) =>
  Array.from({ length: 360 / step }, (_, i) => ({ azimuthDeg: i * step, elevationDeg: elevation(i * step) }));

test("pairs as people write them", () => {
  expect(parseHorizon("azimuth,elevation\n180, 12.5\n185,14,the barn\n")).toEqual([
    { azimuthDeg: 180, elevationDeg: 12.5 },
    { azimuthDeg: 185, elevationDeg: 14, what: "the barn" },
  ]);
  expect(parseHorizon("# field notes\n180 12.5\r\n190\t13")).toHaveLength(2);
  expect(parseHorizon("180;12,5")).toEqual([{ azimuthDeg: 180, elevationDeg: 12.5 }]);
  expect(parseHorizon("180°30', 12°15'")).toEqual([{ azimuthDeg: 180.5, elevationDeg: 12.25 }]);
  expect(parseHorizon("10, −1.5")[0]!.elevationDeg).toBe(-1.5);
});

test.each([
  ["180", /needs an azimuth and an elevation/],
  ["400, 10", /from 0 to 360/],
  ["12, 95", /from −30 to 90/],
  ["180, twelve", /not an angle/],
  ["180°75', 10", /below 60/],
  ["", /no readings/],
])("%s is told plainly, with its line", (text, message) => {
  expect(() => parseHorizon(text)).toThrowError(message);
});

test("between readings the skyline is straight, round north too; gaps stay gaps", () => {
  const h = measuredHorizon(
    [
      { azimuthDeg: 350, elevationDeg: 10 },
      { azimuthDeg: 2, elevationDeg: 16 },
      { azimuthDeg: 10, elevationDeg: 12 },
      { azimuthDeg: 60, elevationDeg: 8 },
    ],
    1.6,
    "true",
    none,
  );
  expect(measuredAt(h, 356)).toBeCloseTo(13, 9);
  expect(measuredAt(h, 6)).toBeCloseTo(14, 9);
  expect(measuredAt(h, 10)).toBe(12);
  expect(measuredAt(h, 30)).toBeNull();
  expect(h.gaps).toEqual([
    [10, 60],
    [60, 350],
  ]);
  expect(h.warnings[0]!.text).toContain("10° to 60°");
});

test("compass readings are turned by the declination", () => {
  const h = measuredHorizon([{ azimuthDeg: 176.1, elevationDeg: 20 }], 1.6, "magnetic", {
    declinationDeg: 3.9,
    convergenceDeg: 9,
  });
  expect(h.readings[0]!.azimuthDeg).toBeCloseTo(180, 9);
});

const place = { lng: -97, lat: 42 };
const dish = dishSettings({ diameterM: 0.9, eyeHeightM: 1.6 });
const when = { date: "2026-09-12", declinationDeg: 3.9, model: "test" };
const south = [{ id: "s", longitudeDeg: -97 }];
const el = lookAngles({ ...place, heightM: 100 }, -97, 0).elevationDeg;

test("a measured horizon tightens, replaces, and leaves gaps to the computed one", () => {
  const level = measuredHorizon(
    ring(() => el - 3),
    1.6,
    "true",
    none,
  );
  const tight = viewFromSpot(makeScene(), { place }, dish, south, when, {
    measured: { horizon: level, mode: "tighten" },
  })[0]!;
  expect(tight.clearanceDeg!).toBeCloseTo(3, 1);
  expect(tight.clear).toBe(false);
  expect(tight.blockedBy!.kind).toBe("measured-horizon");
  // Computed says blocked; the crew measured an open sky.
  const hall = makeScene({ buildings: [{ id: "hall", ring: box(-10, -30, 10, -20), heightM: 40 }] });
  const open = measuredHorizon(
    ring(() => 2),
    1.6,
    "true",
    none,
  );
  const replaced = viewFromSpot(hall, { place }, dish, south, when, {
    measured: { horizon: open, mode: "replace" },
  })[0]!;
  expect(replaced.clear).toBe(true);
  const kept = viewFromSpot(hall, { place }, dish, south, when, { measured: { horizon: open, mode: "tighten" } })[0]!;
  expect(kept.clear).toBe(false);
  const gap = measuredHorizon(
    ring(() => 2).filter((r) => r.azimuthDeg < 150 || r.azimuthDeg > 210),
    1.6,
    "true",
    none,
  );
  const inGap = viewFromSpot(hall, { place }, dish, south, when, { measured: { horizon: gap, mode: "replace" } })[0]!;
  expect(inGap.clear).toBe(false);
  expect(inGap.notes.join(" ")).toContain("gap");
});

test("disagreement with the computed skyline is listed, and the strip is laid over", () => {
  const hall = makeScene({ buildings: [{ id: "hall", ring: box(-10, -30, 10, -20), heightM: 40 }] });
  const open = measuredHorizon(
    ring(() => 0),
    3,
    "true",
    none,
  );
  const sky = skyFromSpot(hall, { place }, dish, south, when, { measured: { horizon: open, mode: "replace" } });
  expect(sky.warnings.some((w) => w.code === "sky.horizon-disagrees" && w.text.includes("less stands there"))).toBe(
    true,
  );
  expect(sky.warnings.some((w) => w.code === "sky.horizon-eye-height")).toBe(true);
  expect(sky.horizon[360]).toMatchObject({ kind: "measured", elevationDeg: 0 });
});
