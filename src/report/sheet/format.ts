import type { LngLat } from "../../geodesy/types.ts";
import type { Check, PointResult } from "../../plan/outputs/types.ts";
import { wrap360 } from "../../units/index.ts";

const MINUS = "−";

/** A number with a true minus; NaN and null are "unknown", never nought. */
export function num(value: number | null, digits: number): string {
  if (value === null || !Number.isFinite(value)) return "unknown";
  const shown = Math.abs(value).toFixed(digits);
  return value < 0 && Number(shown) !== 0 ? `${MINUS}${shown}` : shown;
}

/** Up and down to the digit that is printed; a hair of rounding does not move an exact value. */
const up = (v: number, digits: number): number => Math.ceil(v * 10 ** digits - 1e-9) / 10 ** digits;
const down = (v: number, digits: number): number => Math.floor(v * 10 ** digits + 1e-9) / 10 ** digits;

export const signed = (value: number | null, digits: number): string =>
  value === null || !Number.isFinite(value) ? "unknown" : `${value < 0 ? "" : "+"}${num(value, digits)}`;

/** Chance of service in whole per cent; the ends are never claimed. */
export function chance(p: number | null): string {
  if (p === null) return "unknown";
  if (p > 0.99) return "over 99 %";
  if (p < 0.01) return "under 1 %";
  return `${Math.round(p * 100)} %`;
}

/** What a point gets: its chance, or on an area the tiles served. */
export const served = (p: PointResult): string =>
  p.tiles && p.probability !== null ? `${p.tiles.served}/${p.tiles.count} tiles` : chance(p.probability);

/** A share of draws in per cent; neither end is claimed. */
export const ofDraws = (pct: number): string =>
  pct > 99 ? "over 99 %" : pct < 0.5 && pct > 0 ? "under 1 %" : `${num(pct, 1)} %`;

export const percent = (share: number): string => `${Number((share * 100).toFixed(1))} %`;

/** Bearing in [0, 360) with one decimal: 359.96 reads 0.0, not 360.0. */
export const bearing = (deg: number): string => `${wrap360(Number(wrap360(deg).toFixed(1))).toFixed(1)}°`;

/** Degrees and decimal minutes as spoken to aviation: no leading nought, three decimals. */
export function degreesMinutes({ lng, lat }: LngLat): string {
  const part = (deg: number, plus: string, less: string): string => {
    const thousandths = Math.round(Math.abs(deg) * 60_000);
    const minutes = (thousandths % 60_000) / 1000;
    return `${Math.floor(thousandths / 60_000)}-${minutes.toFixed(3).padStart(6, "0")}${deg < 0 ? less : plus}`;
  };
  return `${part(lat, "N", "S")} ${part(lng, "E", "W")}`;
}

export const decimalDegrees = ({ lng, lat }: LngLat): string => `${num(lat, 5)}, ${num(lng, 5)}`;

/** Metres with a thin gap before thousands is more than the page needs: whole metres, or kilometres from 10 on. */
export const distance = (m: number): string => (m < 10_000 ? `${m.toFixed(0)} m` : `${(m / 1000).toFixed(1)} km`);

const WHAT: Record<string, string> = {
  footprint: "Footprint",
  slope: "Slope",
  "keep-out": "Keep-out areas",
  water: "Water",
  obstacle: "Temporary obstacles",
  building: "Buildings",
  overhead: "Trees overhead",
  "power-line": "Power line",
  "fall-zone": "Fall zone",
  exhaust: "Exhaust",
  access: "Ways in and out",
  dish: "Dish",
  backhaul: "Way back",
};

/** Name of a check, with the name of the thing it is about. */
export function checkName(id: string, names: ReadonlyMap<string, string>): string {
  const [kind, about] = id.split(":") as [string, string | undefined];
  const what = WHAT[kind] ?? kind;
  return about === undefined ? what : `${what}: ${names.get(about) ?? about}`;
}

/** Where more is worse, and the limit is a most instead of a least. */
const MORE_IS_WORSE = new Set(["slope", "overhead"]);

/**
 * Found and needed as printed. A distance to be kept is raised to the printed digit, never cut. What was found is
 * rounded as everywhere else, unless that would make a shortfall look like the limit reached.
 */
export function checkNumbers(c: Check): { found: string; needs: string } {
  const worse = MORE_IS_WORSE.has(c.id.split(":")[0]!);
  const digits = c.unit === "ways" ? 0 : 1;
  const unit = c.unit === "degrees" ? "°" : c.unit === "m" ? "\u00a0m" : "";
  const limit =
    c.limit === null ? null : c.unit === "m" && !worse ? up(c.limit, digits) : Number(c.limit.toFixed(digits));
  let found = c.value === null ? null : Number(c.value.toFixed(digits));
  if (found !== null && c.value !== null && c.limit !== null && limit !== null) {
    if (!worse && c.value < c.limit && found >= limit) found = down(c.value, digits);
    if (worse && c.value > c.limit && found <= limit) found = up(c.value, digits);
  }
  return {
    found: found === null ? "" : `${num(found, digits)}${unit}`,
    needs: limit === null ? "" : `${worse ? "max" : "min"}\u00a0${num(limit, digits)}${unit}`,
  };
}

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
/** A date as people write it: 12 Sep 2026. */
export function dayText(iso: string): string {
  const [y, m, d] = iso.slice(0, 10).split("-").map(Number);
  return `${d} ${MONTHS[(m ?? 1) - 1]} ${y}`;
}

export const sentenceCase = (words: string): string => (words === "" ? "" : words[0]!.toUpperCase() + words.slice(1));
