import { expect, test } from "vitest";
import { evaluateLoss, type LossCase, type Zone } from "../../src/propagation/index.ts";
import { Worst } from "../support/accuracy.ts";
import { reference, referenceFiles } from "../support/reference.ts";

interface CaseFile {
  profile: { d_km: number[]; h_m: number[]; clutter_m: number[]; zone: number[] };
  cases: { case: string; input: Record<string, number>; expected: Record<string, number> }[];
}

const ZONES: Record<number, Zone> = { 1: "sea", 3: "coastal", 4: "inland" };
const UNIT = /_(km|mrad|masl|deg|pct|m|dB|dBuVm)$/;

function caseOf(file: CaseFile, i: Record<string, number>): LossCase {
  return {
    model: "p1812",
    frequencyMHz: i.f_GHz! * 1000,
    distancesKm: file.profile.d_km,
    heightsM: file.profile.h_m,
    clutterM: file.profile.clutter_m,
    zones: file.profile.zone.map((z) => ZONES[z]!),
    txHeightM: i.htg_m!,
    rxHeightM: i.hrg_m!,
    polarization: i.pol === 2 ? "vertical" : "horizontal",
    timePct: i.p_pct!,
    locationPct: i.pL_pct!,
    locationSigmaDb: i.sigmaL_dB!,
    txLngLat: [i.lam_t_deg!, i.phi_t_deg!],
    rxLngLat: [i.lam_r_deg!, i.phi_r_deg!],
    deltaN: i.DN!,
    n0: i.N0!,
    txCoastKm: i.dct_km!,
    rxCoastKm: i.dcr_km!,
  };
}

test("every intermediate of the published cases", () => {
  const source = "ITU-R P.1812 reference software, validation results";
  const losses = new Worst("p1812", source, "every loss term", 1e-6);
  const rest = new Worst("p1812", source, "every other intermediate (relative)", 1e-8, "");
  for (const path of referenceFiles("itu-r-p1812-validation")) {
    const file = reference<CaseFile>(path);
    for (const c of file.cases) {
      const { lossDb, parts, warnings } = evaluateLoss(caseOf(file, c.input));
      expect(warnings).toEqual([]);
      expect(lossDb).toBe(parts.Lb);
      for (const [key, want] of Object.entries(c.expected)) {
        // Scaled to the transmitter's power, which is no part of a path loss.
        if (key === "E_scaled_to_Ptx_dBuVm") continue;
        const name = key.replace(UNIT, "");
        if (/_dB(uVm)?$/.test(key)) losses.add(parts[name], want, `${c.case} ${name}`);
        else
          rest.add(parts[name]! / Math.max(Math.abs(want), 1), want / Math.max(Math.abs(want), 1), `${c.case} ${name}`);
      }
    }
  }
  losses.check(700);
  rest.check(700);
});

test("location variability moves the loss by the deviate times σ, towards more loss for more locations", () => {
  const path = referenceFiles("itu-r-p1812-validation")[0]!;
  const file = reference<CaseFile>(path);
  const base = { ...caseOf(file, file.cases[0]!.input), locationSigmaDb: 5.5 };
  const at = (locationPct: number) => evaluateLoss({ ...base, locationPct }).lossDb;
  // Normal quantiles, Abramowitz & Stegun table 26.5: 90 % → 1.28155, 99 % → 2.32635
  expect(at(90) - at(50)).toBeCloseTo(5.5 * 1.28155, 2);
  expect(at(50) - at(10)).toBeCloseTo(Math.min(5.5 * 1.28155, at(50) - evaluateLoss(base).parts.Lb0p!), 2);
  expect(at(99) - at(50)).toBeCloseTo(5.5 * 2.32635, 2);
});

const flat: LossCase = {
  model: "p1812",
  frequencyMHz: 760,
  distancesKm: [0, 1, 2, 3],
  heightsM: [10, 12, 11, 10],
  txHeightM: 6,
  rxHeightM: 1.5,
};
test.each([
  ["p1812.frequency-range", { frequencyMHz: 20 }],
  ["p1812.frequency-range", { frequencyMHz: 15000 }],
  ["p1812.distance-range", { distancesKm: [0, 0.05, 0.1, 0.15] }],
  ["p1812.height-range", { rxHeightM: 0 }],
  ["p1812.height-range", { txHeightM: 5000 }],
  ["p1812.time-range", { timePct: 0.1 }],
  ["p1812.time-range", { timePct: 90 }],
  ["p1812.location-range", { locationPct: 99.9 }],
  ["p1812.few-points", { distancesKm: [0, 3], heightsM: [10, 10] }],
])("outside the stated range: %s, with a loss all the same", (code, change) => {
  const { lossDb, parts, warnings } = evaluateLoss({ ...flat, ...change } as LossCase);
  expect(warnings.map((w) => w.code)).toContain(code);
  expect(lossDb).toBeGreaterThan(0);
  for (const [name, value] of Object.entries(parts)) expect(value, name).not.toBeNaN();
});

test("a gradient at ducting is refused", () => {
  expect(() => evaluateLoss({ ...flat, deltaN: 157 })).toThrow(/deltaN/);
});

test("of two points of equal clearance the last is the horizon of a clear path (Rec. ITU-R P.1812-6 attachment 1 §4)", () => {
  const level: LossCase = { ...flat, heightsM: [10, 10, 10, 10], txHeightM: 8, rxHeightM: 8 };
  const { parts } = evaluateLoss(level);
  expect([parts.dlt, parts.dlr]).toEqual([2, 1]);
});
