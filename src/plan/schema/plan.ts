import { z } from "zod";
import { identifier, label, quantity } from "./common.ts";
import { donors, drops, hazards, parking, points } from "./features.ts";
import { terrainSchema } from "./terrain.ts";
import { terminalSchema, unitSchema } from "./unit.ts";

export const BACKHAULS = ["ethernet", "donor", "satellite"] as const;

const satelliteSchema = z.strictObject({
  id: identifier("satellite id"),
  name: label("satellite name").optional(),
  longitudeDeg: quantity("satellite longitude", "degrees east", -180, 180),
  role: z.enum(["primary", "alternate"]).optional(),
});

const objectiveSchema = z.strictObject({
  id: identifier("objective id").optional(),
  area: identifier("area (a point id)"),
  need: z.string().regex(/^[^/]+\/[^/]+$/, "a need reads service/need, as in cell/talk"),
  sharePct: quantity("share of tiles", "%", 1, 100),
  unitsLost: z.union([z.literal(0), z.literal(1)]).optional(),
});

const periodSchema = z.strictObject({
  id: identifier("period id"),
  name: label("period name").optional(),
  from: z.iso.datetime({ offset: true }),
  to: z.iso.datetime({ offset: true }),
});

const modelsSchema = z.strictObject({
  /** Largest difference between the two refined models before a caution. */
  secondOpinionCautionDb: quantity("difference that calls for caution", "dB", 1, 60).optional(),
  timePct: quantity("time percentage", "%", 1, 50).optional(),
  refractivityGradient: quantity("refractivity gradient ΔN", "N-units/km", 10, 150).optional(),
  surfaceRefractivity: quantity("sea-level refractivity N0", "N-units", 200, 450).optional(),
});

const consentSchema = z.strictObject({
  who: z.enum(["landowner", "fire", "utility", "licensee", "satellite-operator", "other"]),
  name: label("who consents").optional(),
  state: z.enum(["open", "asked", "given", "refused"]),
  conditions: label("conditions", 2000).optional(),
});

const spotChoice = z.strictObject({
  id: identifier("spot id"),
  lng: quantity("longitude", "degrees", -180, 180),
  lat: quantity("latitude", "degrees", -90, 90),
});

export const PLAN_FORMAT = "hardstand-plan";
export const PLAN_VERSION = 1;

/** The plan document (`*.plan.json`), version 1. Unknown fields are refused; every number's name bears its unit. */
export const planSchema = z.strictObject({
  $schema: z.string().optional(),
  format: z.literal(PLAN_FORMAT, { error: `format must be "${PLAN_FORMAT}"` }),
  version: z.literal(PLAN_VERSION, { error: `version must be ${PLAN_VERSION}` }),
  name: label("plan name").min(1, "the plan needs a name"),
  notes: label("notes", 20_000).optional(),
  /** Date for which magnetic values and seasons hold (ISO date); default: the day of the run. */
  date: z.iso.date({ error: "a date like 2026-09-12 is expected" }).optional(),
  terrain: terrainSchema,
  unit: unitSchema,
  terminals: z.array(terminalSchema).min(1, "at least one terminal is needed").max(50),
  satellites: z.array(satelliteSchema).max(40).optional(),
  points,
  parking,
  hazards: hazards.optional(),
  backhaul: z
    .strictObject({
      order: z.array(z.enum(BACKHAULS)).max(3).optional(),
      drops: drops.optional(),
      donors: donors.optional(),
      capacityMbps: quantity("backhaul capacity", "Mb/s", 0.01, 10_000).optional(),
      /** A spot without any way back is a no-go for the musts; default true when any way is listed. */
      required: z.boolean().optional(),
    })
    .optional(),
  season: z.enum(["leaf-on", "leaf-off"]).optional(),
  state: z.enum(["empty", "full"]).optional(),
  objectives: z.array(objectiveSchema).max(200).optional(),
  periods: z.array(periodSchema).max(50).optional(),
  models: modelsSchema.optional(),
  consents: z.array(consentSchema).max(50).optional(),
  horizons: z
    .array(
      z.strictObject({
        id: identifier("horizon id"),
        lng: quantity("longitude", "degrees", -180, 180),
        lat: quantity("latitude", "degrees", -90, 90),
        eyeHeightM: quantity("eye height", "m", 0, 100),
        reference: z.enum(["true", "magnetic", "grid"]),
        date: z.iso.date().optional(),
        file: z.string().max(400).optional(),
        bearings: z
          .array(
            z.strictObject({
              azimuthDeg: quantity("bearing", "degrees", 0, 360),
              elevationDeg: quantity("elevation", "degrees", -30, 90),
              what: label("what stands there").optional(),
            }),
          )
          .max(2000)
          .optional(),
      }),
    )
    .max(200)
    .optional(),
  search: z
    .strictObject({
      unitCount: z.number().int().min(1).max(20).optional(),
      shortlist: z
        .number()
        .int()
        .min(1, "shortlist must be at least 1")
        .max(200, "shortlist must be at most 200")
        .optional(),
      separationM: quantity("separation of spots", "m", 0, 20_000).optional(),
      draws: z.number().int().min(0).max(100_000).optional(),
      seed: z.number().int().min(0).max(4_294_967_295).optional(),
      pinned: z.array(spotChoice).max(50).optional(),
      excluded: z.array(spotChoice).max(200).optional(),
    })
    .optional(),
});
