import { z } from "zod";

/** A probability, dB value or angle that may be unknown is null, never zero and never NaN. */
export const maybe = <T extends z.ZodType>(type: T) => type.nullable();

export const warning = z.strictObject({ code: z.string(), text: z.string() });
export const lngLat = { lng: z.number(), lat: z.number() };
export const status = z.enum(["pass", "caution", "fail", "unknown"]);

export const check = z.strictObject({
  id: z.string(),
  status,
  /** What was found, in `unit`; null when unknown. */
  value: maybe(z.number()),
  /** What is asked for, in `unit`; null when the check has no single limit. */
  limit: maybe(z.number()),
  unit: z.string(),
  text: z.string(),
  source: z.string(),
});

export const errorBody = z.strictObject({
  code: z.string(),
  message: z.string(),
  where: z.string(),
  received: maybe(z.string()),
  hint: z.string(),
});
export const errorAnswer = z.strictObject({ error: errorBody });

export const modelStamp = z.strictObject({ id: z.string(), edition: z.string() });
export const provenance = z.strictObject({
  version: z.string(),
  /** Date for which magnetic values hold (ISO date). */
  date: z.string(),
  seed: z.number(),
  files: z.record(z.string(), z.string()),
  models: z.array(modelStamp),
  planRevision: maybe(z.number()).optional(),
});
