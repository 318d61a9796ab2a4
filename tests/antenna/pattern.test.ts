import fc from "fast-check";
import { expect, test } from "vitest";
import {
  compilePattern,
  electricalTiltDeg,
  K_IMPROVED,
  K_TYPICAL,
  omniBeamwidthDeg,
  omniGainDb,
  patternGainDb,
  patternPreview,
  readMeasuredPattern,
} from "../../src/antenna/index.ts";
import type { AntennaSpec } from "../../src/plan/types.ts";
import table from "../reference/itu-r-f1336-5/omni-peak.json" with { type: "json" };
import { evenly } from "../support/arbitrary.ts";

const omni: AntennaSpec = { pattern: "omni", gainDbi: 6 };
const sector: AntennaSpec = {
  pattern: "sector",
  gainDbi: 14,
  azimuthDeg: 120,
  beamwidthDeg: 70,
  verticalBeamwidthDeg: 10,
  tiltDeg: 6,
};

test("omni pattern of Rec. ITU-R F.1336-5", () => {
  expect(omniBeamwidthDeg(table.G0_dBi)).toBeCloseTo(table.theta3_deg, 10);
  for (const [theta, gain] of table.rows as [number, number][]) {
    expect(omniGainDb(theta, table.theta3_deg, K_TYPICAL)).toBeCloseTo(gain - table.G0_dBi, 5.7);
    expect(patternGainDb(omni, 77, theta)).toBeCloseTo(gain - table.G0_dBi, 5.7);
    expect(patternGainDb(omni, 200, -theta)).toBe(patternGainDb(omni, 0, theta));
  }
});

test("omni: half power at half the width, continuous, lower lobes with the improved factor", () => {
  expect(omniGainDb(5, 10, K_TYPICAL)).toBe(-3);
  for (const k of [K_TYPICAL, K_IMPROVED])
    for (let deg = 0; deg < 90; deg += 0.01)
      expect(Math.abs(omniGainDb(deg, 13, k) - omniGainDb(deg + 0.01, 13, k))).toBeLessThan(0.03);
  expect(omniGainDb(60, 13, K_IMPROVED)).toBeLessThan(omniGainDb(60, 13, K_TYPICAL));
  const at = (frequencyMHz: number) => patternGainDb(omni, 0, 60, { frequencyMHz });
  expect(at(5500)).toBeLessThan(at(2437));
});

test("downtilt is positive down: the beam goes below the horizon, zenith and nadir stay", () => {
  const tilted: AntennaSpec = { pattern: "omni", gainDbi: 9, tiltDeg: 4 };
  expect(patternGainDb(tilted, 0, -4)).toBeCloseTo(0, 12);
  expect(patternGainDb(tilted, 0, 0)).toBeLessThan(-1e-3);
  expect(electricalTiltDeg(90, 4)).toBe(90);
  expect(electricalTiltDeg(-90, 4)).toBe(-90);
  expect(patternGainDb(sector, 120, -6)).toBeCloseTo(0, 12);
});

test("sector of 3GPP TR 36.814: half power at half the widths, limits behind and above", () => {
  expect(patternGainDb(sector, 155, -6)).toBeCloseTo(-3, 12);
  expect(patternGainDb(sector, 85, -6)).toBeCloseTo(-3, 12);
  expect(patternGainDb(sector, 120, -1)).toBeCloseTo(-3, 12);
  expect(patternGainDb(sector, 300, -6)).toBe(-25);
  expect(patternGainDb(sector, 120, 80)).toBe(-20);
  expect(patternGainDb(sector, 300, 80)).toBe(-25);
  expect(patternGainDb({ ...sector, azimuthDeg: 350 }, 25, -6)).toBeCloseTo(-3, 12);
});

test("every direction is at most the peak, and the peak is reached", () => {
  fc.assert(
    fc.property(
      evenly(-5, 18),
      evenly(-20, 20),
      evenly(0, 360),
      evenly(0, 360),
      evenly(-90, 90),
      (gainDbi, tiltDeg, azimuthDeg, az, el) => {
        for (const pattern of ["omni", "sector"] as const) {
          const antenna: AntennaSpec = { pattern, gainDbi, tiltDeg, azimuthDeg };
          const gain = patternGainDb(antenna, az, el);
          expect(gain).toBeLessThanOrEqual(0);
          expect(gain).toBeGreaterThan(-40);
          expect(patternGainDb(antenna, azimuthDeg, -tiltDeg)).toBeCloseTo(0, 9);
        }
      },
    ),
    { seed: 21, numRuns: 2000 },
  );
});

test("what is missing is said", () => {
  expect(() => compilePattern({ pattern: "sector", gainDbi: 12 })).toThrow(/needs its azimuth/);
  expect(() => compilePattern({ pattern: "measured", gainDbi: 12, file: "a.txt" })).toThrow(/was not read/);
});

test("preview", () => {
  const cuts = patternPreview(sector);
  expect(cuts.azimuthDb).toHaveLength(360);
  expect(cuts.azimuthDb[120]).toBeCloseTo(0, 12);
  expect(cuts.elevationDb[84]).toBeCloseTo(0, 12);
});

/** An invented antenna in the open text format: a cardioid in azimuth, 4° of downtilt, gain over a dipole. */
function invented(extra: string[] = [], replace: [string, string] = ["", ""]): string {
  const lines = [
    "REVNUM:,NSMA WG16.99.050",
    "REVDAT:,19990520",
    "ANTMAN:,Invented",
    "MODNUM:,IV-4",
    "LOWFRQ:,700",
    "HGHFRQ:,800",
    "GUNITS:,DBD/DBR",
    "MDGAIN:,10.0",
    "ELTILT:,4,1",
    "PATTYP:,typical",
    "NOFREQ:,1",
    "PATFRE:,750",
    "NUMCUT:,2",
    "PATCUT:,AZ ! through the beam",
    "POLARI:,V/V",
    "NUPOIN:,180",
    "FSTLST:,-180,178",
    ...Array.from(
      { length: 180 },
      (_, i) => `${2 * i - 180},${(-10 * (1 - Math.cos(((2 * i - 180) * Math.PI) / 180))).toFixed(3)},`,
    ),
    "PATCUT:,EL",
    "POLARI:,V/V",
    "NUPOIN:,360",
    "FSTLST:,-180,179",
    ...Array.from(
      { length: 360 },
      (_, i) => `${i - 180},${Math.max(-30, -0.2 * Math.abs(i - 180 + 4)).toFixed(3)},0.0`,
    ),
    ...extra,
    "ENDFIL:,EOF",
  ];
  return lines.join("\r\n").replace(...replace);
}

test("a digitised pattern: gain over isotropic, both cuts, tilt, direction", () => {
  const measured = readMeasuredPattern(invented());
  expect(measured.gainDbi).toBeCloseTo(12.15, 10);
  expect(measured.peakElevationDeg).toBe(-4);
  expect(measured.warnings).toEqual([]);
  const antenna: AntennaSpec = { pattern: "measured", gainDbi: 12.15, azimuthDeg: 90, file: "invented.txt" };
  const at = (az: number, el: number) => patternGainDb(antenna, az, el, { measured });
  expect(at(90, -4)).toBeCloseTo(0, 3);
  expect(at(90, 6)).toBeCloseTo(-2, 3);
  expect(at(150, -4)).toBeCloseTo(-5, 2);
  // Odd degrees lie between the file's even ones.
  expect(at(151, -4)).toBeCloseTo((at(150, -4) + at(152, -4)) / 2, 9);
  expect(at(270, 4)).toBeLessThan(-19);
  for (let az = 0; az < 360; az += 7) for (let el = -90; el <= 90; el += 5) expect(at(az, el)).toBeLessThanOrEqual(0);
});

test("a digitised pattern: what is odd is warned about or refused with its line", () => {
  expect(readMeasuredPattern(invented([], ["NUPOIN:,180", "NUPOIN:,181"])).warnings[0]!.code).toBe(
    "pattern.points-disagree",
  );
  expect(readMeasuredPattern(invented([], ["ELTILT:,4,1", "ELTILT:,-4,1"])).warnings[0]!.code).toBe(
    "pattern.tilt-disagrees",
  );
  const more = ["PATCUT:,AZ", "POLARI:,V/H", "NUPOIN:,1", "0,-30"];
  expect(readMeasuredPattern(invented(more)).warnings.map((w) => w.code)).toContain("pattern.cuts-left-out");
  expect(() => readMeasuredPattern(invented([], ["PATCUT:,EL", "PATCUT:,AZ"]))).toThrow(/elevation cut/);
  expect(() => readMeasuredPattern(invented([], ["MDGAIN:,10.0", "FIELD1:,x"]))).toThrow(/gain is missing/);
  expect(() => readMeasuredPattern(invented([], ["-180,-20.000,", "-180,abc,"]))).toThrow(/number/);
  expect(() => readMeasuredPattern("")).toThrow(/cut/);
  expect(() => readMeasuredPattern("hello\nworld")).toThrow(/before the first cut/);
  const measured = readMeasuredPattern(invented());
  expect(() => patternGainDb({ pattern: "measured", gainDbi: 12 }, 0, 0, { measured })).toThrow(/needs its azimuth/);
});
