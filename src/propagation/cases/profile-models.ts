import { type P452Input, p452 } from "../p452.ts";
import { type P1812Input, p1812 } from "../p1812.ts";
import type { RadioProfile } from "../profile.ts";
import type { LossCase, LossResult } from "../types.ts";
import { CASE_DEFAULTS, pathAnswer, profileOf, refuse, required, Warnings, zonesOf } from "./input.ts";

/** Gradient beyond which refractivity ducts and no effective radius exists, N-units/km. */
const DUCTING = 157;

/** The fields P.1812 and P.452 share, and the warnings they share. */
function commonInput(input: LossCase, profile: RadioProfile, warnings: Warnings): P1812Input {
  const link: P1812Input = {
    frequencyMHz: input.frequencyMHz,
    txHeightM: required(input, "txHeightM"),
    rxHeightM: required(input, "rxHeightM"),
    polarization: input.polarization ?? CASE_DEFAULTS.polarization,
    timePct: input.timePct ?? CASE_DEFAULTS.timePct,
    locationPct: input.locationPct ?? CASE_DEFAULTS.locationPct,
    locationSigmaDb: input.locationSigmaDb ?? CASE_DEFAULTS.locationSigmaDb,
    deltaN: input.deltaN ?? CASE_DEFAULTS.deltaN,
    n0: input.n0 ?? CASE_DEFAULTS.n0,
    txCoastKm: input.txCoastKm ?? CASE_DEFAULTS.coastKm,
    rxCoastKm: input.rxCoastKm ?? CASE_DEFAULTS.coastKm,
    zones: zonesOf(input, profile.n),
  };
  // A stated radius stands for the gradient that gives it (a_e = 6371·157/(157 − ΔN)).
  if (input.effectiveRadiusKm !== undefined) link.deltaN = DUCTING - (DUCTING * 6371) / input.effectiveRadiusKm;
  if (!(link.deltaN! < DUCTING))
    refuse("deltaN is beyond ducting", "deltaN", input.deltaN, `give less than ${DUCTING} N-units/km`);
  if (input.latitudeDeg !== undefined) link.latitudeDeg = input.latitudeDeg;
  for (const end of ["txLngLat", "rxLngLat"] as const) {
    const place = input[end];
    if (place === undefined) continue;
    if (!(Math.abs(place[1]) <= 90 && Math.abs(place[0]) <= 360))
      refuse(`${end} is not a longitude and latitude`, end, place, "give [longitude, latitude] in degrees");
    link[end] = place;
  }
  if (profile.n < 3)
    warnings.add(
      `${input.model}.few-points`,
      "the profile has no point between its ends: terrain on the way is not in the loss",
    );
  return link;
}

/** P.1812: `parts` bears every intermediate of the Recommendation. */
export function p1812Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  const profile = profileOf(input);
  const link = commonInput(input, profile, warnings);
  const d = profile.distancesKm[profile.n - 1]!;
  warnings.range("p1812.frequency-range", "the frequency", input.frequencyMHz, 30, 6000, "MHz");
  warnings.range("p1812.distance-range", "the distance", d, 0.25, 3000, "km");
  warnings.range("p1812.height-range", "the transmitter's height", link.txHeightM, 1, 3000, "m");
  warnings.range("p1812.height-range", "the receiver's height", link.rxHeightM, 1, 3000, "m");
  warnings.range("p1812.location-range", "the location percentage", link.locationPct!, 1, 99, "%");
  timeRange("p1812", link.timePct!, 1, warnings);
  const { lossDb, ...parts } = p1812(profile, link);
  return pathAnswer(lossDb, parts, warnings);
}

/** P.452: line of sight and diffraction; `parts` as in the published rows. */
export function p452Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  const profile = profileOf(input);
  const link: P452Input = commonInput(input, profile, warnings);
  link.pressureHPa = input.pressureHPa ?? CASE_DEFAULTS.pressureHPa;
  link.temperatureK = input.temperatureK ?? CASE_DEFAULTS.temperatureK;
  warnings.range("p452.frequency-range", "the frequency", input.frequencyMHz, 100, 50_000, "MHz");
  timeRange("p452", link.timePct!, 0.001, warnings);
  const { lossDb, ...parts } = p452(profile, link);
  // The horizons of a clear path sum to the Earth's own angle; beyond it the path is over the horizon.
  if (parts.theta! > 0.01)
    warnings.add(
      "p452.beyond-horizon",
      "ducting and troposcatter are not in this loss and may carry more beyond the horizon",
    );
  return pathAnswer(lossDb, parts as Record<string, number>, warnings);
}

function timeRange(model: string, timePct: number, least: number, warnings: Warnings): void {
  const code = `${model}.time-range`;
  if (timePct > 50)
    warnings.add(code, `time percentage ${timePct} % is above 50 %, where the method ends: computed at 50 %`);
  else warnings.range(code, "the time percentage", timePct, least, 50, "%");
}
