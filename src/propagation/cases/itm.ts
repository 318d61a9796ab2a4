import { equalSteps, ITM_BITS, ITM_ERRORS, type ItmInput, type ItmResult, itmArea, itmPointToPoint } from "../itm.ts";
import type { LossCase, LossResult } from "../types.ts";
import { CASE_DEFAULTS, distanceOf, pathAnswer, profileOf, refuse, required, Warnings } from "./input.ts";

/** Modes of variability that exist: single message, accidental, mobile, broadcast, each with +10 and +20. */
const MDVAR = [0, 1, 2, 3, 10, 11, 12, 13, 20, 21, 22, 23, 30, 31, 32, 33];

/**
 * Irregular terrain model: point to point over a profile, or area mode from terrainIrregularityM and a distance.
 * Percentages are time, location and situation. Reliability is another name for time, confidence for situation.
 */
export function itmCase(input: LossCase): LossResult {
  const warnings = new Warnings();
  agree(input, "timePct", "reliabilityPct");
  agree(input, "situationPct", "confidencePct");
  const mdvar = input.mdvar ?? CASE_DEFAULTS.mdvar;
  if (!MDVAR.includes(mdvar)) refuse("no such mode of variability", "mdvar", mdvar, `one of ${MDVAR.join(", ")}`);
  const conductivitySPerM = input.conductivitySPerM ?? CASE_DEFAULTS.conductivitySPerM;
  if (!(conductivitySPerM > 0))
    refuse("the ground does not conduct", "conductivitySPerM", conductivitySPerM, "give more than 0 S/m");
  const link: ItmInput = {
    frequencyMHz: input.frequencyMHz,
    txHeightM: required(input, "txHeightM"),
    rxHeightM: required(input, "rxHeightM"),
    polarization: input.polarization ?? CASE_DEFAULTS.polarization,
    n0: input.n0 ?? CASE_DEFAULTS.itmN0,
    climate: input.climate ?? CASE_DEFAULTS.climate,
    permittivity: input.permittivity ?? CASE_DEFAULTS.permittivity,
    conductivitySPerM,
    mdvar,
    timePct: input.timePct ?? input.reliabilityPct ?? CASE_DEFAULTS.timePct,
    locationPct: input.locationPct ?? CASE_DEFAULTS.locationPct,
    situationPct: input.situationPct ?? input.confidencePct ?? CASE_DEFAULTS.situationPct,
  };
  let answer: ItmResult;
  if (input.terrainIrregularityM !== undefined && input.heightsM === undefined) {
    answer = itmArea(
      {
        distanceKm: distanceOf(input),
        terrainIrregularityM: input.terrainIrregularityM,
        txSiting: input.txSiting ?? 0,
        rxSiting: input.rxSiting ?? 0,
      },
      link,
    );
  } else {
    const profile = profileOf(input);
    if (!equalSteps(profile))
      warnings.add("itm.resampled", "the profile's steps differ: it was resampled to equal steps");
    if (input.clutterM?.some((c) => c > 0))
      warnings.add("itm.clutter-left-out", "this model takes bare ground: clutterM is left out");
    answer = itmPointToPoint(profile, link);
  }
  if (answer.error !== 0) {
    const known = ITM_ERRORS[answer.error];
    const field = (known?.field ?? "") as keyof LossCase;
    refuse(
      `the irregular terrain model stops with its error ${answer.error}`,
      field,
      input[field] ?? null,
      known?.text ?? "",
    );
  }
  for (const { bit, code, text } of ITM_BITS) if ((answer.bits & bit) !== 0) warnings.add(code, text);
  const { lossDb, error: _, ...parts } = answer;
  if (Number.isNaN(lossDb))
    refuse(
      "the irregular terrain model has no value for this path",
      "",
      null,
      "low frequencies with steep horizons within half a kilometre are outside it: use p526",
    );
  return pathAnswer(lossDb, parts, warnings);
}

/** Two names of one percentage: both may be given, but not with two values. */
function agree(input: LossCase, one: "timePct" | "situationPct", other: "reliabilityPct" | "confidencePct"): void {
  if (input[one] === undefined || input[other] === undefined || input[one] === input[other]) return;
  refuse(`${one} and ${other} are one percentage and differ`, other, input[other], `give ${one} or ${other}`);
}
