import { execFileSync } from "node:child_process";
import fc from "fast-check";
import { expect, test } from "vitest";
import { createLocalFrame, geodesicDirect, geodesicInverse } from "../../src/geodesy/index.ts";
import { wrap180 } from "../../src/units/index.ts";
import { evenly } from "../support/arbitrary.ts";
import { needs } from "../support/tools.ts";

const lng = evenly(-180, 180);
const lat = evenly(-85, 85);
const bearing = evenly(0, 360);
const within = evenly(1, 50_000);

test("distances agree with geodesics to 1e-4 between places within 50 km, and the way back is exact", () => {
  fc.assert(
    fc.property(lng, lat, bearing, within, bearing, within, (x, y, b1, d1, b2, d2) => {
      const origin = { lng: x, lat: y };
      const frame = createLocalFrame(origin);
      const p = geodesicDirect(origin, b1, d1);
      const q = geodesicDirect(origin, b2, d2);
      const a = frame.toXY(p);
      const b = frame.toXY(q);
      const plane = Math.hypot(a.xM - b.xM, a.yM - b.yM);
      const true_ = geodesicInverse(p, q).distanceM;
      expect(Math.abs(plane - true_)).toBeLessThanOrEqual(1e-4 * true_ + 1e-5);
      const back = frame.toLngLat(a);
      expect(geodesicInverse(p, back).distanceM).toBeLessThan(1e-4);
    }),
    { seed: 20260101, numRuns: 2000 },
  );
});

test("convergence turns grid azimuths into true ones", () => {
  fc.assert(
    fc.property(lng, lat, bearing, within, (x, y, b, d) => {
      const origin = { lng: x, lat: y };
      const frame = createLocalFrame(origin);
      const p = geodesicDirect(origin, b, d);
      // One metre due north of p, seen in the grid.
      const a = frame.toXY(p);
      const n = frame.toXY(geodesicDirect(p, 0, 10));
      const gridAzimuthOfTrueNorth = (Math.atan2(n.xM - a.xM, n.yM - a.yM) * 180) / Math.PI;
      expect(Math.abs(wrap180(frame.convergenceDeg(p) + gridAzimuthOfTrueNorth))).toBeLessThan(1e-4);
    }),
    { seed: 7, numRuns: 1000 },
  );
});

test("a frame across the antimeridian does not tear", () => {
  const frame = createLocalFrame({ lng: 179.9999, lat: -17 });
  const { xM, yM } = frame.toXY({ lng: -179.9999, lat: -17 });
  expect(xM).toBeGreaterThan(20);
  expect(xM).toBeLessThan(22);
  expect(Math.abs(yM)).toBeLessThan(0.01);
  const back = frame.toLngLat({ xM, yM });
  expect(wrap180(back.lng + 179.9999)).toBeCloseTo(0, 9);
});

test("a frame at the pole keeps distances", () => {
  const frame = createLocalFrame({ lng: 0, lat: 90 });
  const p = geodesicDirect({ lng: 0, lat: 90 }, 30, 10_000);
  const { xM, yM } = frame.toXY(p);
  expect(Math.abs(Math.hypot(xM, yM) - 10_000)).toBeLessThan(0.1);
});

test("an origin that is no place is refused", () => {
  expect(() => createLocalFrame({ lng: 0, lat: 91 })).toThrow(/not a place/);
  expect(() => createLocalFrame({ lng: Number.NaN, lat: 0 })).toThrow(/not a place/);
});

test.runIf(needs("cs2cs"))("the frame is PROJ's tmerc to 0.1 mm", () => {
  const origin = { lng: -96.05, lat: 41.24 };
  const frame = createLocalFrame(origin);
  const places = [
    { lng: -96.0512, lat: 41.2415 },
    { lng: -95.6, lat: 41.5 },
    { lng: -96.5, lat: 40.9 },
  ];
  const out = execFileSync(
    "cs2cs",
    ["-f", "%.6f", "+proj=longlat", "+datum=WGS84", "+to", "+proj=tmerc", `+lat_0=${origin.lat}`].concat([
      `+lon_0=${origin.lng}`,
      "+k=1",
      "+datum=WGS84",
    ]),
    { input: places.map((p) => `${p.lng} ${p.lat}`).join("\n"), encoding: "utf8" },
  );
  for (const [i, line] of out.trim().split("\n").entries()) {
    const [x, y] = line.trim().split(/\s+/).map(Number);
    const { xM, yM } = frame.toXY(places[i]!);
    expect(Math.hypot(xM - x!, yM - y!)).toBeLessThan(1e-4);
  }
});
