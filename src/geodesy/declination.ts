import geomagnetism from "geomagnetism";
import { wrap180 } from "../units/index.ts";
import { requirePlace } from "./place.ts";
import type { LngLat } from "./types.ts";

/**
 * Error model of the declination, degrees: sqrt(constant² + (perH/H)²), H in nT.
 * Source: technical reports of the World Magnetic Model 2020 and 2025, §"error model", as quoted in a public
 * change list comparing the two (second-hand: the reports themselves were not opened).
 */
const ERROR_MODEL = { 2020: [0.26, 5625], 2025: [0.26, 5417] } as const;
type Epoch = keyof typeof ERROR_MODEL;
/** Years a model holds from its epoch. */
const LIFE_YEARS = 5;

export interface MagneticField {
  /** East of true north positive. */
  declinationDeg: number;
  /** Down positive. */
  inclinationDeg: number;
  northNt: number;
  eastNt: number;
  downNt: number;
  horizontalNt: number;
  totalNt: number;
}

export interface Declination {
  declinationDeg: number;
  /** One standard deviation by the model's own error model; local iron is not in it. */
  uncertaintyDeg: number;
  model: string;
  /** False when the date lies outside the model's five years: the value is an extrapolation. */
  withinEpoch: boolean;
  /** Where the horizontal field is weak a compass is unreliable (< 6000 nT) or of no use (< 2000 nT). */
  compass: "usable" | "caution" | "unusable";
}

type Model = ReturnType<typeof geomagnetism.model>;
const atEpoch = new Map<Epoch, { model: Model; g: number[]; h: number[] }>();

function base(epoch: Epoch) {
  let found = atEpoch.get(epoch);
  if (found === undefined) {
    const model = geomagnetism.model(new Date(Date.UTC(epoch, 0, 1)));
    found = { model, g: [...model.main_field_coeff_g], h: [...coefficients(model).main_field_coeff_h] };
    atEpoch.set(epoch, found);
  }
  return found;
}

interface Coefficients {
  main_field_coeff_g: number[];
  main_field_coeff_h: number[];
  secular_var_coeff_g: number[];
  secular_var_coeff_h: number[];
}
/** The package's typings leave out two of the four coefficient lists. */
const coefficients = (model: Model): Coefficients => model as unknown as Coefficients;

/** Year with its fraction, UTC; a leap year has 366 days. */
export function decimalYear(date: Date): number {
  const year = date.getUTCFullYear();
  const start = Date.UTC(year, 0, 1);
  return year + (date.getTime() - start) / (Date.UTC(year + 1, 0, 1) - start);
}

/**
 * Main magnetic field of the World Magnetic Model.
 * @param place     degrees, WGS 84
 * @param heightKm  above the ellipsoid
 * @param year      with fraction; the secular variation is carried linearly from the epoch, inside its five years or not
 * @returns nT and degrees. At a pole, declination is against the given meridian
 * Accuracy: published test values of 2020 and 2025 to 0.01 nT or their printed digits.
 */
export function magneticField(place: LngLat, heightKm: number, year: number, epoch: Epoch = 2025): MagneticField {
  requirePlace(place, "place");
  const { model, g, h } = base(epoch);
  const c = coefficients(model);
  // The package moves its coefficients by a date and complains outside five years; the linear step is done here.
  for (let i = 0; i < g.length; i++) {
    c.main_field_coeff_g[i] = g[i]! + (year - epoch) * (c.secular_var_coeff_g[i] ?? 0);
    c.main_field_coeff_h[i] = h[i]! + (year - epoch) * (c.secular_var_coeff_h[i] ?? 0);
  }
  const p = model.point([place.lat, place.lng, heightKm]);
  return {
    declinationDeg: wrap180(p.decl),
    inclinationDeg: p.incl,
    northNt: p.x,
    eastNt: p.y,
    downNt: p.z,
    horizontalNt: p.h,
    totalNt: p.f,
  };
}

/**
 * Angle from true to magnetic north: magnetic azimuth = true azimuth − declination.
 * @param place     degrees, WGS 84
 * @param heightKm  above the ellipsoid (a few km do not matter)
 * @param date      dates before 2025 take WMM2020, others WMM2025
 * @returns degrees, east positive, with the model's own standard deviation and whether the date is inside its epoch
 * Source: NOAA/NCEI and BGS, World Magnetic Model 2025 (2020 for earlier dates).
 */
export function declination(place: LngLat, heightKm: number, date: Date): Declination {
  const year = decimalYear(date);
  const epoch: Epoch = year < 2025 ? 2020 : 2025;
  const field = magneticField(place, heightKm, year, epoch);
  const [constant, perH] = ERROR_MODEL[epoch];
  return {
    declinationDeg: field.declinationDeg,
    uncertaintyDeg: Math.min(180, Math.hypot(constant, perH / field.horizontalNt)),
    model: `WMM${epoch}`,
    withinEpoch: year >= epoch && year <= epoch + LIFE_YEARS,
    compass: field.horizontalNt < 2000 ? "unusable" : field.horizontalNt < 6000 ? "caution" : "usable",
  };
}
