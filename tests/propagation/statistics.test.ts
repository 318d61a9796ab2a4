import { expect, test } from "vitest";
import {
  evaluateLoss,
  LEAF_OFF_SHARE,
  type LossCase,
  normalCdf,
  normalQuantile,
  saturationPressureHPa,
  vegetationLossDb,
} from "../../src/propagation/index.ts";
import { Worst } from "../support/accuracy.ts";
import { records, reference, type Table } from "../support/reference.ts";

const table = (path: string) => records(reference<Table>(path));
const WORKBOOK = "ITU-R clutter and BEL workbook";

/** A row outside the stated range is refused or answered with a warning, never in silence. */
function expectWarned(input: LossCase): void {
  let answer: ReturnType<typeof evaluateLoss>;
  try {
    answer = evaluateLoss(input);
  } catch (error) {
    expect((error as { code: string }).code).toBe("model.input");
    return;
  }
  expect(answer.warnings.length, JSON.stringify(input)).toBeGreaterThan(0);
  expect(answer.lossDb).not.toBeNaN();
}

test("P.2108 §3.1: published rows, and warnings outside the range", () => {
  for (const [path, source] of [
    ["itu-r-p2108-1/p2108-1_s3.1_height_gain_ntia.json", "NTIA P.2108-1 test rows"],
    ["itu-r-p2108-1/p2108-1_s3.1_height_gain_workbook.json", WORKBOOK],
  ] as const) {
    const w = new Worst("p2108", source, "§3.1 height gain", 0.051);
    for (const r of table(path)) {
      const input: LossCase = {
        model: "p2108",
        section: "3.1",
        frequencyMHz: (r.f__ghz ?? r.f_GHz)! * 1000,
        rxHeightM: (r.h__meter ?? r.h_m)!,
        streetWidthM: (r.w_s__meter ?? r.ws_m)!,
        clutterHeightM: (r.R__meter ?? r.R_m)!,
        clutterType: (r.clutter_type ?? r.type)!,
      };
      if ((r.rtn ?? 0) !== 0) expectWarned(input);
      else w.add(evaluateLoss(input).lossDb, (r.A_h__db ?? r.Ah_dB)!, JSON.stringify(r));
    }
    w.check(5);
  }
});

test("P.2108 §3.2: published rows, and warnings outside the range", () => {
  for (const [path, source, least] of [
    ["itu-r-p2108-1/p2108-1_s3.2_terrestrial_ntia.json", "NTIA P.2108-1 test rows", 4],
    ["itu-r-p2108-1/p2108-1_s3.2_terrestrial_workbook_d0.65.json", WORKBOOK, 100],
  ] as const) {
    const w = new Worst("p2108", source, "§3.2 terrestrial", 0.051);
    for (const r of table(path)) {
      const input: LossCase = {
        model: "p2108",
        section: "3.2",
        frequencyMHz: (r.f__ghz ?? r.f_GHz)! * 1000,
        distanceKm: (r.d__km ?? r.d_km)!,
        locationPct: (r.p ?? r.p_pct)!,
      };
      if ((r.rtn ?? 0) !== 0) expectWarned(input);
      else w.add(evaluateLoss(input).lossDb, (r.L_ctt__db ?? r.Lctt_dB)!, JSON.stringify(r));
    }
    w.check(least);
  }
});

test("P.2108 §3.3: published rows, and warnings outside the range", () => {
  for (const [path, source, least] of [
    ["itu-r-p2108-1/p2108-1_s3.3_earth_space_ntia.json", "NTIA P.2108-1 test rows", 4],
    ["itu-r-p2108-1/p2108_s3.3_earth_space_workbook_f30.json", WORKBOOK, 500],
  ] as const) {
    const w = new Worst("p2108", source, "§3.3 towards the sky", 0.051);
    for (const r of table(path)) {
      const input: LossCase = {
        model: "p2108",
        section: "3.3",
        frequencyMHz: (r.f__ghz ?? r.f_GHz)! * 1000,
        elevationDeg: (r.theta_deg ?? r.elev_deg)!,
        locationPct: (r.p ?? r.p_pct)!,
      };
      if ((r.rtn ?? 0) !== 0) expectWarned(input);
      else w.add(evaluateLoss(input).lossDb, (r.L_ces__db ?? r.Lces_dB)!, JSON.stringify(r));
    }
    w.check(least);
  }
});

test("P.2109: the workbook's values", () => {
  const w = new Worst("p2109", WORKBOOK, "entry loss", 0.001);
  for (const r of table("itu-r-p2109-1/bel_workbook.json"))
    w.add(
      evaluateLoss({
        model: "p2109",
        frequencyMHz: r.f_GHz! * 1000,
        elevationDeg: r.elev_deg!,
        buildingClass: r.building_class === 1 ? "traditional" : "efficient",
        probabilityPct: r.p_pct!,
      }).lossDb,
      r.L_dB!,
      JSON.stringify(r),
    );
  w.check(280);
});

test("P.838: the workbook's rows and table 5 of the Recommendation", () => {
  const w = new Worst("p838", "ITU-R WP 3J/3M workbook 8.1.1", "k, α, γR (relative)", 1e-9, "");
  for (const r of table("itu-wp3j3m-valex-8.1.1/p838-3_specific_attenuation.json")) {
    const { lossDb, parts } = evaluateLoss({
      model: "p838",
      frequencyMHz: r.f_GHz! * 1000,
      rainMmPerH: r.R001_mm_h!,
      elevationDeg: r.elev_deg!,
      tiltDeg: r.tau_deg!,
    });
    for (const [name, want] of [
      ["kH", r.kH],
      ["kV", r.kV],
      ["alphaH", r.alphaH],
      ["alphaV", r.alphaV],
      ["k", r.k],
      ["alpha", r.alpha],
      ["gammaR", r.gammaR_dB_km],
    ] as const)
      w.add(parts[name]! / want!, 1, `${name} at ${r.f_GHz} GHz`);
    expect(lossDb).toBe(parts.gammaR);
  }
  w.check(200);
  // Table 5 prints four significant digits, and seven decimals at most.
  const t = new Worst("p838", "Rec. ITU-R P.838-3 table 5", "kH, kV, αH, αV, in last printed digits", 0.51, "");
  for (const r of table("itu-wp3j3m-valex-8.1.1/p838-3_table5_k_alpha.json")) {
    const { parts } = evaluateLoss({ model: "p838", frequencyMHz: r.f_GHz! * 1000, rainMmPerH: 10 });
    for (const name of ["kH", "kV"] as const) {
      const digit = Math.max(1e-7, 10 ** (Math.floor(Math.log10(r[name]!)) - 3));
      t.add(parts[name]! / digit, r[name]! / digit, `${name} at ${r.f_GHz} GHz`);
    }
    for (const name of ["alphaH", "alphaV"] as const)
      t.add(parts[name]! / 1e-4, r[name]! / 1e-4, `${name} at ${r.f_GHz} GHz`);
  }
  t.check(8);
});

test("P.676: the workbook's values from 1 to 350 GHz", () => {
  const w = new Worst("p676", "ITU-R WP 3J/3M workbook 8.1.1", "γo, γw, γ (relative)", 1e-9, "");
  for (const r of table("itu-wp3j3m-valex-8.1.1/p676-13_specific_attenuation_1_350GHz.json")) {
    const { parts } = evaluateLoss({
      model: "p676",
      frequencyMHz: r.f_GHz! * 1000,
      pressureHPa: r.P_dry_hPa!,
      temperatureK: r.T_K!,
      waterVapourGPerM3: r.rho_g_m3!,
    });
    w.add(parts.gammaO! / r.gamma_o_dB_km!, 1, `γo at ${r.f_GHz} GHz`);
    w.add(parts.gammaW! / r.gamma_w_dB_km!, 1, `γw at ${r.f_GHz} GHz`);
    w.add(parts.gamma! / r.gamma_dB_km!, 1, `γ at ${r.f_GHz} GHz`);
  }
  w.check(500);
});

test("P.453: refractivity of the standard atmosphere by hand, and saturation pressure", () => {
  // e = 7.5·288.15/216.7 = 9.97289 hPa; 77.6·(1013.25 − 9.97289)/288.15 = 270.188; 72·9.97289/288.15 + 3.75e5·9.97289/288.15² = 47.533
  const w = new Worst("p453", "Rec. ITU-R P.453-14 eq. (1)–(5), by hand", "N terms", 0.01, "N-units");
  const { parts } = evaluateLoss({ model: "p453", frequencyMHz: 1000 });
  w.add(parts.e, 9.97289, "e");
  w.add(parts.Ndry, 270.188, "Ndry");
  w.add(parts.Nwet, 47.533, "Nwet");
  w.check(3);
  // 20 °C, 1013.25 hPa: 23.37 hPa over plane water (Smithsonian Meteorological Tables) times 1.004 for moist air
  expect(saturationPressureHPa(20, 1013.25)).toBeCloseTo(23.47, 1);
});

test("P.833: rows of the table, limits, leaves", () => {
  // Rec. ITU-R P.833-9 §2.1
  const w = new Worst("p833", "Rec. ITU-R P.833-9 §2.1, table", "γ, A_m", 1e-9);
  for (const [f, gamma, Am] of [
    [105.9, 0.04, 9.4],
    [466.475, 0.12, 18],
    [949, 0.17, 26.5],
    [1852.2, 0.3, 29],
    [2117.5, 0.34, 34.1],
  ] as const) {
    const { parts } = evaluateLoss({ model: "p833", frequencyMHz: f, vegetationM: 10 });
    w.add(parts.gamma, gamma, `γ at ${f} MHz`);
    w.add(parts.Am, Am, `A_m at ${f} MHz`);
  }
  w.check(10);
  expect(vegetationLossDb(0, 763, "leaf-on")).toBe(0);
  expect(vegetationLossDb(1e6, 949, "leaf-on")).toBeCloseTo(26.5, 9);
  expect(vegetationLossDb(1, 949, "leaf-on")).toBeCloseTo(0.17, 2);
  expect(vegetationLossDb(50, 763, "leaf-off") / vegetationLossDb(50, 763, "leaf-on")).toBeCloseTo(LEAF_OFF_SHARE, 12);
  expect(vegetationLossDb(Number.NaN, 763, "leaf-on")).toBeNaN();
  // A row of trees 15 m through at 763 MHz: neither a wall nor nothing.
  const row = vegetationLossDb(15, 763, "leaf-on");
  expect(row).toBeGreaterThan(1);
  expect(row).toBeLessThan(4);
  expect(evaluateLoss({ model: "p833", frequencyMHz: 5800, vegetationM: 10 }).warnings[0]!.code).toBe(
    "p833.frequency-range",
  );
});

test("normal quantile and distribution agree with the tables and with each other", () => {
  // Abramowitz & Stegun (1964) tables 26.1, 26.5
  expect(normalCdf(1)).toBeCloseTo(0.841344746068543, 14);
  expect(normalCdf(2)).toBeCloseTo(0.977249868051821, 14);
  expect(normalCdf(3)).toBeCloseTo(0.99865010196837, 14);
  expect(normalCdf(-4) / 3.1671241833119924e-5).toBeCloseTo(1, 12);
  expect(normalQuantile(0.9)).toBeCloseTo(1.2815515655446, 12);
  expect(normalQuantile(0.99)).toBeCloseTo(2.326347874040841, 12);
  for (let x = -7; x <= 7; x += 0.01) expect(normalQuantile(normalCdf(x))).toBeCloseTo(x, x > 4 ? 3 : 9);
});
