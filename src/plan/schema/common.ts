import { z } from "zod";

/** A number with its label, unit and range stated once: for message, form and JSON Schema. */
export const quantity = (label: string, unit: string, min: number, max: number) =>
  z
    .number({
      error: (issue) =>
        issue.input === undefined ? `${label} is missing (a number, ${unit})` : `${label} must be a number, ${unit}`,
    })
    .min(min, `${label} must be at least ${min} ${unit}`)
    .max(max, `${label} must be at most ${max} ${unit}`)
    .meta({ label, unit });

export const identifier = (label: string) =>
  z
    .string({ error: `${label} must be a short text` })
    .regex(
      /^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$/,
      `${label} may hold letters, digits, dot, dash and underscore, at most 64`,
    );

export const label = (what: string, max = 200) =>
  z.string({ error: `${what} must be a text` }).max(max, `${what} may be at most ${max} characters`);

/** A file beside the plan, or below its folder. Escapes are refused again when the file is opened. */
export const relativeFile = z
  .string({ error: "a file name beside the plan is expected" })
  .min(1, "a file name is empty")
  .max(400, "a file name is longer than 400 characters")
  .meta({ label: "file beside the plan" });

const position = z
  .array(z.number())
  .min(2, "a position needs longitude and latitude")
  .max(3, "a position has at most longitude, latitude and height");
const ring = z.array(position).min(4, "a ring needs at least four positions, the last equal to the first").max(20_000);

export const pointGeometry = z.strictObject({ type: z.literal("Point"), coordinates: position });
export const lineGeometry = z.strictObject({
  type: z.literal("LineString"),
  coordinates: z.array(position).min(2, "a line needs at least two positions").max(20_000),
});
export const polygonGeometry = z.strictObject({
  type: z.literal("Polygon"),
  coordinates: z.array(ring).min(1).max(1000),
});
export const multiPolygonGeometry = z.strictObject({
  type: z.literal("MultiPolygon"),
  coordinates: z.array(z.array(ring).min(1).max(1000)).min(1).max(1000),
});

const bbox = z.array(z.number()).min(4).max(6).optional();

/** A GeoJSON (RFC 7946) feature collection whose features bear the given geometry and properties. */
export function collection<G extends z.ZodType, P extends z.ZodType>(geometry: G, properties: P) {
  const feature = z.strictObject({
    type: z.literal("Feature"),
    id: z.union([z.string(), z.number()]).optional(),
    bbox,
    geometry,
    properties,
  });
  return z.strictObject({
    type: z.literal("FeatureCollection"),
    name: z.string().optional(),
    bbox,
    features: z.array(feature).max(20_000, "at most 20,000 features"),
  });
}

/** The geometry inline, or the name of a GeoJSON file beside the plan. */
export const inlineOrFile = <T extends z.ZodType>(inline: T) => z.union([relativeFile, inline]);
