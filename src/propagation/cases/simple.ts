import { wavelengthM } from "../../units/index.ts";
import { fresnelKirchhoff, knifeEdgeExactLossDb, knifeEdgeLossDb } from "../knife-edge.ts";
import { freeSpaceLossDb } from "../p525.ts";
import { deltaBullington } from "../p526.ts";
import { twoRay } from "../two-ray.ts";
import type { LossCase, LossResult } from "../types.ts";
import { zoneLengths } from "../zones.ts";
import { CASE_DEFAULTS, distanceOf, pathAnswer, profileOf, refuse, required, Warnings, zonesOf } from "./input.ts";

/** P.525: the distance given is the distance between the antennas. */
export function p525Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  const d = distanceOf(input);
  nearField(warnings, "p525", d, input.frequencyMHz);
  const Lbfs = freeSpaceLossDb(d, input.frequencyMHz);
  return pathAnswer(Lbfs, { Lbfs }, warnings);
}

function nearField(warnings: Warnings, model: string, distanceKm: number, frequencyMHz: number): void {
  const lambda = wavelengthM(frequencyMHz);
  if (distanceKm * 1000 < lambda)
    warnings.add(
      `${model}.near-field`,
      `the antennas are ${distanceKm * 1000} m apart, nearer than one wavelength (${lambda.toFixed(2)} m)`,
    );
}

/** P.526 delta-Bullington: `parts` are Lbulla, Lbulls, Ldsph, Ld, Lbfs and the smooth-surface heights. */
export function p526Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  const profile = profileOf(input);
  const txHeightM = required(input, "txHeightM");
  const rxHeightM = required(input, "rxHeightM");
  warnings.range("p526.frequency-range", "the frequency", input.frequencyMHz, 30, 50_000, "MHz");
  nearField(warnings, "p526", profile.distancesKm[profile.n - 1]!, input.frequencyMHz);
  if (txHeightM <= 0 || rxHeightM <= 0)
    warnings.add("p526.height-range", "an antenna lies on the ground; the diffraction terms want it above");
  const { lossDb, ...parts } = deltaBullington(profile, {
    frequencyMHz: input.frequencyMHz,
    txHeightM,
    rxHeightM,
    polarization: input.polarization ?? CASE_DEFAULTS.polarization,
    effectiveRadiusKm: input.effectiveRadiusKm ?? CASE_DEFAULTS.effectiveRadiusKm,
    seaFraction: input.seaFraction ?? zoneLengths(profile.distancesKm, zonesOf(input, profile.n), profile.n).omega,
  });
  return pathAnswer(lossDb, { ...parts }, warnings);
}

/** One knife edge: from `nu`, or the edge of greatest ν of a profile. */
export function knifeEdgeCase(input: LossCase): LossResult {
  const warnings = new Warnings();
  if (input.nu !== undefined) {
    const J = knifeEdgeLossDb(input.nu);
    return { lossDb: J, parts: { nu: input.nu, J, Jexact: knifeEdgeExactLossDb(input.nu) }, warnings: [] };
  }
  if (input.distancesKm === undefined)
    refuse(
      "neither nu nor a profile is given",
      "nu",
      null,
      "give nu, or distancesKm, heightsM, txHeightM and rxHeightM",
    );
  const profile = profileOf(input);
  const { distancesKm: d, groundM, obstacleM, n } = profile;
  if (n < 3)
    refuse("the profile has no point between its ends", "distancesKm", n, "give the edge as a point between the ends");
  const D = d[n - 1]!;
  const hts = groundM[0]! + required(input, "txHeightM");
  const hrs = groundM[n - 1]! + required(input, "rxHeightM");
  const radius = input.effectiveRadiusKm ?? CASE_DEFAULTS.effectiveRadiusKm;
  const lambda = wavelengthM(input.frequencyMHz, 3e8);
  let nu = Number.NEGATIVE_INFINITY;
  let edgeKm = 0;
  for (let i = 1; i < n - 1; i++) {
    const di = d[i]!;
    const above = obstacleM[i]! + (500 / radius) * di * (D - di) - hts - ((hrs - hts) * di) / D;
    const v = fresnelKirchhoff(above, 1000 * di, 1000 * (D - di), lambda);
    if (v > nu) {
      nu = v;
      edgeKm = di;
    }
  }
  const Lbfs = freeSpaceLossDb(Math.hypot(D, (hts - hrs) / 1000), input.frequencyMHz);
  const J = knifeEdgeLossDb(nu);
  return pathAnswer(Lbfs + J, { Lbfs, J, Jexact: knifeEdgeExactLossDb(nu), nu, edgeKm }, warnings);
}

/** Two-ray check over flat ground. */
export function twoRayCase(input: LossCase): LossResult {
  const warnings = new Warnings();
  const d = distanceOf(input);
  const tx = required(input, "txHeightM");
  const rx = required(input, "rxHeightM");
  if (tx <= 0 || rx <= 0)
    refuse(
      "an antenna lies on the ground",
      tx <= 0 ? "txHeightM" : "rxHeightM",
      Math.min(tx, rx),
      "give heights above 0 m",
    );
  const { lossDb, ...parts } = twoRay(
    d,
    input.frequencyMHz,
    tx,
    rx,
    input.polarization ?? CASE_DEFAULTS.polarization,
    input.permittivity === undefined
      ? undefined
      : {
          permittivity: input.permittivity,
          conductivitySPerM: input.conductivitySPerM ?? CASE_DEFAULTS.conductivitySPerM,
        },
  );
  if (d > parts.breakPointKm)
    warnings.add(
      "two-ray.beyond-break-point",
      `the path is longer than the break point at ${parts.breakPointKm.toPrecision(3)} km: loss rises with the fourth power of distance`,
    );
  if (input.heightsM !== undefined && Math.max(...input.heightsM) - Math.min(...input.heightsM) > 1)
    warnings.add("two-ray.not-flat", "the ground varies by more than 1 m: the two-ray value assumes flat ground");
  return pathAnswer(lossDb, parts, warnings);
}
