import { expect, test } from "vitest";
import { evaluateLoss, type LossCase, p452Obstacles, radioProfile, type Zone } from "../../src/propagation/index.ts";
import { Worst } from "../support/accuracy.ts";
import { records, reference, referenceFiles, type Table } from "../support/reference.ts";

interface RowsFile extends Table {
  profile: { dKm: number[]; hM: number[]; coverM: number[]; zone: string[] };
}
const ZONES: Record<string, Zone> = { A1: "coastal", A2: "inland", B: "sea" };

test("published rows at 0.1–50 GHz: heights, gases, multipath, both diffraction passes", () => {
  const source = "ITU-R P.452-18 reference software, validation rows";
  const losses = new Worst("p452", source, "Lbfsg, Lb0p, Lb0b, Ldsph, Ld50, Ldp", 1e-6);
  const heights = new Worst("p452", source, "hstd, hsrd, hte, hre, hm, angles, distances", 1e-6, "m, mrad, km");
  for (const path of referenceFiles("itu-r-p452-18-validation")) {
    const file = reference<RowsFile>(path);
    for (const r of records(file)) {
      const input: LossCase = {
        model: "p452",
        frequencyMHz: r["f (GHz)"]! * 1000,
        distancesKm: file.profile.dKm,
        heightsM: file.profile.hM,
        clutterM: file.profile.coverM,
        zones: file.profile.zone.map((z) => ZONES[z]!),
        txHeightM: r["htg (m)"]!,
        rxHeightM: r["hrg (m)"]!,
        polarization: r["pol (1-h/2-v)"] === 2 ? "vertical" : "horizontal",
        timePct: r["p (%)"]!,
        txLngLat: [r["phit_e (deg)"]!, r["phit_n (deg)"]!],
        rxLngLat: [r["phir_e (deg)"]!, r["phir_n (deg)"]!],
        // The printed radius carries more digits of the gradient than the printed gradient.
        effectiveRadiusKm: r.ae!,
        n0: r.N0!,
        txCoastKm: r["dct (km)"]!,
        rxCoastKm: r["dcr (km)"]!,
        pressureHPa: r["press (hPa)"]!,
        temperatureK: r["temp (deg C)"]! + 273.15,
      };
      const { lossDb, parts } = evaluateLoss(input);
      const at = `${path} ${r["f (GHz)"]} GHz ${r["p (%)"]} %`;
      for (const name of ["Lbfsg", "Lb0p", "Lb0b", "Ldsph", "Ld50", "Ldp"])
        losses.add(parts[name], r[name]!, `${at} ${name}`);
      for (const name of [
        "dtot",
        "hts",
        "hrs",
        "theta_t",
        "theta_r",
        "theta",
        "hm",
        "hte",
        "hre",
        "hstd",
        "hsrd",
        "dlt",
        "dlr",
        "dtm",
        "dlm",
        "b0",
        "omega",
      ])
        heights.add(parts[name], r[name]!, `${at} ${name}`);
      expect(lossDb).toBeCloseTo(parts.Lb0p! + parts.Ldp!, 9);
    }
  }
  losses.check(1500);
  heights.check(4000);
});

test("clutter within 50 m of an end is left out", () => {
  const profile = radioProfile([0, 0.04, 0.05, 0.5, 0.95, 0.96, 1], [1, 1, 1, 1, 1, 1, 1], [9, 9, 9, 9, 9, 9, 9]);
  expect([...p452Obstacles(profile)]).toEqual([1, 1, 10, 10, 10, 1, 1]);
});
