import { z } from "zod";
import { THEMES } from "../../src/plan/http.ts";

/** A number in a query string. Empty text is not zero. */
export const queryNumber = (what: string, unit: string, min: number, max: number) =>
  z
    .string({ error: `${what} is missing (a number, ${unit})` })
    .regex(/^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/, `${what} must be a number, ${unit}`)
    .transform(Number)
    .refine((n) => n >= min && n <= max, `${what} must be from ${min} to ${max} ${unit}`)
    .meta({ description: `${what}, ${unit}`, override: { type: "number", minimum: min, maximum: max } });

const lng = queryNumber("longitude", "degrees", -180, 180);
const lat = queryNumber("latitude", "degrees", -90, 90);

export const planId = z.object({ id: z.string() });
export const runId = z.object({ id: z.string() });
export const placeQuery = z.strictObject({ lng, lat });
export const cellQuery = z.strictObject({ lng, lat, full: z.enum(["0", "1"]).optional() });
export const skyQuery = z.strictObject({ lng, lat, heightM: queryNumber("height", "m", 0, 1000).optional() });
export const lookQuery = z.strictObject({
  lng,
  lat,
  heightM: queryNumber("height above the ellipsoid", "m", -500, 9000).optional(),
});
export const pathQuery = z.strictObject({
  fromLng: lng,
  fromLat: lat,
  toLng: lng,
  toLat: lat,
  service: z.string().min(1).max(64),
  point: z.string().min(1).max(64).optional(),
});

const whole = (what: string, max: number) => queryNumber(what, "a whole number", 0, max).refine(Number.isInteger);
export const tileParams = z.object({
  id: z.string(),
  layer: z.string(),
  z: whole("zoom", 24),
  x: whole("tile column", 2 ** 24),
  y: whole("tile row", 2 ** 24),
});
export const theme = z.enum(THEMES).default("day");
export const themeQuery = z.object({ theme: theme.optional() });
