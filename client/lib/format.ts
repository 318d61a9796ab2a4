/** Turns stored metric values into what the screen says. Stored values never change. */
export type LengthUnit = "m" | "ft";
const FT = 0.3048;
const THIN = "\u2009";
const MINUS = "\u2212";

/** A number with a true minus, thin-spaced thousands and fixed decimals; null and NaN read "unknown". */
export function num(value: number | null | undefined, decimals = 0): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "unknown";
  const fixed = Math.abs(value).toFixed(decimals);
  const [whole, part] = fixed.split(".") as [string, string | undefined];
  const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, THIN) : whole;
  const negative = value < 0 && Number(fixed) !== 0;
  return `${negative ? MINUS : ""}${grouped}${part === undefined ? "" : `.${part}`}`;
}
export const signed = (value: number | null | undefined, decimals = 1): string =>
  value === null || value === undefined || !Number.isFinite(value)
    ? "unknown"
    : `${value > 0 && Number(value.toFixed(decimals)) > 0 ? "+" : ""}${num(value, decimals)}`;

/** A chance 0…1 in percent. Never "100 %" and never "0 %": both would promise more than a prediction can. */
export function chance(value: number | null | undefined): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "unknown";
  if (value > 0.99) return "over 99 %";
  if (value < 0.01) return "under 1 %";
  return `${Math.round(value * 100)} %`;
}
/** A share that has been counted, 0…1: all and none are true statements here. */
export const share = (value: number | null | undefined): string =>
  value === null || value === undefined || !Number.isFinite(value) ? "unknown" : `${Math.round(value * 100)} %`;

export function length(valueM: number | null | undefined, unit: LengthUnit, decimals?: number): string {
  if (valueM === null || valueM === undefined || !Number.isFinite(valueM)) return "unknown";
  const v = unit === "ft" ? valueM / FT : valueM;
  const far = Math.abs(v) >= (unit === "ft" ? 52_800 : 10_000);
  if (far) return unit === "ft" ? `${num(v / 5280, 1)} mi` : `${num(v / 1000, 1)} km`;
  const places = decimals ?? (Math.abs(v) < 20 && Math.abs(v - Math.round(v)) > 0.049 ? 1 : 0);
  return `${num(v, places)} ${unit}`;
}
/** A height above sea level, whole units: precision never beyond the data. */
export const height = (valueM: number | null | undefined, unit: LengthUnit): string => length(valueM, unit, 0);
export function area(hectares: number, unit: LengthUnit): string {
  const v = unit === "ft" ? hectares * 2.471_053_8 : hectares;
  return `${num(v, v < 0.095 ? 2 : 1)} ${unit === "ft" ? "acres" : "ha"}`;
}
export const degrees = (value: number | null | undefined, decimals = 1): string =>
  value === null || value === undefined || !Number.isFinite(value) ? "unknown" : `${num(value, decimals)}°`;

/** A value with the unit a check carries; lengths follow the reader's unit. */
export function quantity(value: number | null | undefined, unit: string, lengthUnit: LengthUnit): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "unknown";
  if (unit === "m") return length(value, lengthUnit);
  if (unit === "°" || unit === "degrees" || unit === "deg") return degrees(value, Number.isInteger(value) ? 0 : 1);
  const decimals = Number.isInteger(value) ? 0 : 1;
  return unit === "" ? num(value, decimals) : `${num(value, decimals)} ${unit}`;
}

/** Orbital place in words: −101 → "101° W". */
export function orbit(longitudeDeg: number): string {
  const a = Math.abs(longitudeDeg);
  const text = Number.isInteger(a) ? String(a) : a.toFixed(1);
  return longitudeDeg === 0 ? "0°" : `${text}° ${longitudeDeg < 0 ? "W" : "E"}`;
}
const COMPASS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
export const compassWord = (azimuthDeg: number): string =>
  COMPASS[Math.round((((azimuthDeg % 360) + 360) % 360) / 45) % 8]!;

const two = (n: number): string => String(n).padStart(2, "0");
/** Time of day of an instant, in the reader's own zone. */
export function clock(iso: string): string {
  const d = new Date(iso);
  return Number.isNaN(d.getTime()) ? "" : `${two(d.getHours())}:${two(d.getMinutes())}`;
}
/** Plural of a counted thing. */
export const count = (n: number, one: string, many = `${one}s`): string => `${num(n)} ${n === 1 ? one : many}`;

/** Seconds left, only as exact as it deserves. */
export function secondsLeft(seconds: number | null): string {
  if (seconds === null || !Number.isFinite(seconds)) return "";
  if (seconds < 1) return "Almost there.";
  if (seconds < 90) return `About ${Math.ceil(seconds)} s left.`;
  return `About ${Math.round(seconds / 60)} min left.`;
}
