import { refractivity } from "../p453.ts";
import { gasAttenuation } from "../p676.ts";
import { LEAF_OFF_SHARE, P833_RANGE_MHZ, vegetationLossDb, woodland } from "../p833.ts";
import { rainAttenuation } from "../p838.ts";
import {
  CLUTTER_HEIGHT_M,
  type ClutterType,
  heightGainLossDb,
  skyClutterLossDb,
  terrestrialClutterLossDb,
} from "../p2108.ts";
import { entryLoss } from "../p2109.ts";
import type { LossCase, LossResult } from "../types.ts";
import { CASE_DEFAULTS, distanceOf, refuse, required, Warnings } from "./input.ts";

/** P.833 §2.1: loss of the part of a path inside woodland, in excess of free space. */
export function p833Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  const leaf = input.leaf ?? "leaf-on";
  const length = required(input, "vegetationM");
  warnings.range("p833.frequency-range", "the frequency", input.frequencyMHz, ...P833_RANGE_MHZ, "MHz");
  if (leaf === "leaf-off")
    warnings.add(
      "p833.leaf-off-assumed",
      `without leaves the loss is taken as ${LEAF_OFF_SHARE} of that with leaves (from memory)`,
    );
  const { gammaDbPerM, Am } = woodland(input.frequencyMHz);
  const lossDb = vegetationLossDb(length, input.frequencyMHz, leaf);
  return { lossDb, parts: { gamma: gammaDbPerM, Am, Aev: lossDb }, warnings: warnings.list };
}

/** Share of locations, %: `probabilityPct`, else `locationPct`, else 50. */
const sharePct = (input: LossCase): number => input.probabilityPct ?? input.locationPct ?? CASE_DEFAULTS.probabilityPct;

/** P.2108: terminal clutter by section: 3.1 height gain, 3.2 terrestrial (default), 3.3 towards the sky. */
export function p2108Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  const section = input.section ?? "3.2";
  if (section === "3.1") return heightGain(input, warnings);
  const share = sharePct(input);
  if (section === "3.2") {
    const d = distanceOf(input);
    warnings.range("p2108.frequency-range", "the frequency", input.frequencyMHz, 500, 67_000, "MHz");
    if (d < 0.25)
      warnings.add("p2108.distance-range", `the distance ${d} km is below 0.25 km, where the statistics begin`);
    const Lctt = terrestrialClutterLossDb(input.frequencyMHz, d, share);
    return { lossDb: Lctt, parts: { Lctt }, warnings: warnings.list };
  }
  const elevation = input.elevationDeg ?? CASE_DEFAULTS.elevationDeg;
  warnings.range("p2108.frequency-range", "the frequency", input.frequencyMHz, 10_000, 100_000, "MHz");
  warnings.range("p2108.elevation-range", "the elevation", elevation, 0, 90, "degrees");
  const Lces = skyClutterLossDb(input.frequencyMHz, Math.max(elevation, 0), share);
  return { lossDb: Lces, parts: { Lces }, warnings: warnings.list };
}

function heightGain(input: LossCase, warnings: Warnings): LossResult {
  const type = required(input, "clutterType") as ClutterType;
  const height = input.rxHeightM ?? input.txHeightM;
  if (height === undefined)
    refuse("the terminal's height is missing", "rxHeightM", null, "give rxHeightM, or txHeightM");
  if (height <= 0) refuse("the terminal lies on the ground", "rxHeightM", height, "give a height above 0 m");
  const R = input.clutterHeightM ?? CLUTTER_HEIGHT_M[type];
  if (R <= 0) refuse("the clutter has no height", "clutterHeightM", R, "give a height above 0 m, or leave it out");
  warnings.range("p2108.frequency-range", "the frequency", input.frequencyMHz, 30, 3000, "MHz");
  const Ah = heightGainLossDb(input.frequencyMHz, height, R, type, input.streetWidthM ?? CASE_DEFAULTS.streetWidthM);
  return { lossDb: Ah, parts: { Ah, R }, warnings: warnings.list };
}

/** P.2109: building entry loss not exceeded with a probability. */
export function p2109Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  const kind = required(input, "buildingClass");
  warnings.range("p2109.frequency-range", "the frequency", input.frequencyMHz, 80, 100_000, "MHz");
  const elevation = input.elevationDeg ?? CASE_DEFAULTS.elevationDeg;
  const { lossDb, ...parts } = entryLoss(kind, input.frequencyMHz, elevation, sharePct(input) / 100);
  return { lossDb, parts, warnings: warnings.list };
}

/** P.838: rain; the loss is γR times `distanceKm` (1 km where none is given). */
export function p838Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  warnings.range("p838.frequency-range", "the frequency", input.frequencyMHz, 1000, 1_000_000, "MHz");
  const parts = rainAttenuation(
    input.frequencyMHz,
    required(input, "rainMmPerH"),
    input.elevationDeg ?? CASE_DEFAULTS.elevationDeg,
    input.tiltDeg ?? CASE_DEFAULTS.tiltDeg[input.polarization ?? CASE_DEFAULTS.polarization],
  );
  return {
    lossDb: parts.gammaR * (input.distanceKm ?? CASE_DEFAULTS.distanceKm),
    parts: { ...parts },
    warnings: warnings.list,
  };
}

/** P.676: gases; `pressureHPa` is that of dry air; the loss is γ times `distanceKm` (1 km where none is given). */
export function p676Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  warnings.range("p676.frequency-range", "the frequency", input.frequencyMHz, 1000, 1_000_000, "MHz");
  const parts = gasAttenuation(
    input.frequencyMHz,
    input.pressureHPa ?? CASE_DEFAULTS.pressureHPa,
    input.temperatureK ?? CASE_DEFAULTS.temperatureK,
    input.waterVapourGPerM3 ?? CASE_DEFAULTS.waterVapourGPerM3,
  );
  return {
    lossDb: parts.gamma * (input.distanceKm ?? CASE_DEFAULTS.distanceKm),
    parts: { ...parts },
    warnings: warnings.list,
  };
}

/** P.453: refractivity; no loss of its own, so the loss is 0 dB and the answer stands in `parts`. */
export function p453Case(input: LossCase): LossResult {
  const parts = refractivity(
    input.pressureHPa ?? CASE_DEFAULTS.pressureHPa,
    input.temperatureK ?? CASE_DEFAULTS.temperatureK,
    input.waterVapourGPerM3 ?? CASE_DEFAULTS.waterVapourGPerM3,
  );
  return { lossDb: 0, parts: { ...parts }, warnings: [] };
}
