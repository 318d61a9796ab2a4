import { type P1812Input, p1812 } from "../p1812.ts";
import type { LossCase, LossResult } from "../types.ts";
import { CASE_DEFAULTS, pathAnswer, profileOf, refuse, required, Warnings, zonesOf } from "./input.ts";

/** P.1812: `parts` bears every intermediate of the Recommendation. */
export function p1812Case(input: LossCase): LossResult {
  const warnings = new Warnings();
  const profile = profileOf(input);
  const d = profile.distancesKm[profile.n - 1]!;
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
  if (input.latitudeDeg !== undefined) link.latitudeDeg = input.latitudeDeg;
  for (const end of ["txLngLat", "rxLngLat"] as const) {
    const place = input[end];
    if (place === undefined) continue;
    if (!(Math.abs(place[1]) <= 90 && Math.abs(place[0]) <= 360))
      refuse(`${end} is not a longitude and latitude`, end, place, "give [longitude, latitude] in degrees");
    link[end] = place;
  }
  if (!(link.deltaN! < 157))
    refuse("deltaN is beyond ducting", "deltaN", input.deltaN, "give less than 157 N-units/km");
  warnings.range("p1812.frequency-range", "the frequency", input.frequencyMHz, 30, 6000, "MHz");
  warnings.range("p1812.distance-range", "the distance", d, 0.25, 3000, "km");
  warnings.range("p1812.height-range", "the transmitter's height", link.txHeightM, 1, 3000, "m");
  warnings.range("p1812.height-range", "the receiver's height", link.rxHeightM, 1, 3000, "m");
  warnings.range("p1812.location-range", "the location percentage", link.locationPct!, 1, 99, "%");
  if (link.timePct! > 50)
    warnings.add(
      "p1812.time-range",
      `time percentage ${link.timePct} % is above 50 %, where the method ends: computed at 50 %`,
    );
  else warnings.range("p1812.time-range", "the time percentage", link.timePct!, 1, 50, "%");
  if (profile.n < 3)
    warnings.add(
      "p1812.few-points",
      "the profile has no point between its ends: terrain on the way is not in the loss",
    );
  const { lossDb, ...parts } = p1812(profile, link);
  return pathAnswer(lossDb, parts, warnings);
}
