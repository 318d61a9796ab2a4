import { z } from "zod";
import {
  collection,
  identifier,
  inlineOrFile,
  label,
  lineGeometry,
  multiPolygonGeometry,
  pointGeometry,
  polygonGeometry,
  quantity,
} from "./common.ts";

export const RUNGS = ["must", "should", "nice"] as const;
export const PLACES = ["outdoor", "tent", "vehicle", "indoor-traditional", "indoor-efficient"] as const;
export const HAZARD_KINDS = ["power-line", "keep-out", "crowd", "opening", "water", "obstacle"] as const;

const named = {
  id: identifier("id").optional(),
  name: label("name").optional(),
  notes: label("notes", 2000).optional(),
};
const instant = z.iso.datetime({ offset: true, error: "an instant like 2026-09-12T14:00:00Z is expected" });

export const pointProperties = z.strictObject({
  ...named,
  /** Two or three letters shown on the map. */
  code: z.string().max(4, "a code has at most 4 characters").optional(),
  rung: z.enum(RUNGS, { error: "rung must be must, should or nice" }),
  weight: quantity("weight", "times", 0, 1000).optional(),
  needs: z
    .array(z.string().regex(/^[^/]+\/[^/]+$/, "a need reads service/need, as in cell/talk"))
    .min(1, "a point needs at least one need")
    .max(20),
  terminal: identifier("terminal").optional(),
  heightM: quantity("height above ground", "m", 0.1, 400).optional(),
  /** Building id whose roof the terminal stands on. */
  onRoof: identifier("building id").optional(),
  place: z.enum(PLACES, { error: `place must be one of ${PLACES.join(", ")}` }).optional(),
  /** On a point: the probability required. On an area or route: the share of tiles required. */
  targetPct: quantity("target", "%", 1, 99.9).optional(),
  /** On an area or route: a tile is served when its probability reaches this. */
  tileTargetPct: quantity("tile target", "%", 1, 99.9).optional(),
  tileM: quantity("tile side", "m", 1, 5000).optional(),
  users: quantity("users", "people", 0, 1_000_000).optional(),
  /** Operational periods this point belongs to; all when absent. */
  periods: z.array(identifier("period id")).max(50).optional(),
});

export const parkingProperties = z.strictObject({
  ...named,
  waysOut: z.union([z.literal(0), z.literal(1), z.literal(2)]).optional(),
  surface: z.enum(["hard", "gravel", "grass", "soft"]).optional(),
  headingDeg: quantity("parking heading", "degrees from true north", 0, 360).optional(),
});

const hazardBase = { ...named, from: instant.optional(), to: instant.optional() };
export const hazardProperties = z.discriminatedUnion("kind", [
  z.strictObject({
    ...hazardBase,
    kind: z.literal("power-line"),
    voltageKv: quantity("voltage", "kV", 0.1, 1500).optional(),
    /** Voltage unknown but certainly no more than 350 kV. */
    upTo350Kv: z.boolean().optional(),
    heightM: quantity("line height", "m", 0, 300).optional(),
  }),
  z.strictObject({ ...hazardBase, kind: z.literal("keep-out") }),
  z.strictObject({
    ...hazardBase,
    kind: z.literal("crowd"),
    users: quantity("people", "people", 0, 1_000_000).optional(),
  }),
  z.strictObject({ ...hazardBase, kind: z.literal("opening") }),
  z.strictObject({ ...hazardBase, kind: z.literal("water") }),
  z.strictObject({ ...hazardBase, kind: z.literal("obstacle"), heightM: quantity("obstacle height", "m", 0.1, 500) }),
]);

export const buildingProperties = z.looseObject({
  ...named,
  heightM: quantity("building height", "m", 0, 900).optional(),
  baseM: quantity("ground at the building", "m AMSL", -500, 9000).optional(),
  floors: quantity("floors", "floors", 1, 200).optional(),
  heightSource: z.enum(["measured", "floors", "assumed"]).optional(),
});

export const dropProperties = z.strictObject({
  ...named,
  cableM: quantity("cable from the drop", "m", 0, 500).optional(),
});
export const donorProperties = z.strictObject({
  ...named,
  frequencyMHz: quantity("donor frequency", "MHz", 400, 6000),
  antennaHeightM: quantity("donor antenna height above ground", "m", 1, 300),
  eirpDbm: quantity("donor EIRP", "dBm", 0, 80).optional(),
  levelDbm: quantity("least donor level", "dBm", -140, 0).optional(),
});

const anyPlace = z.union([pointGeometry, lineGeometry, polygonGeometry, multiPolygonGeometry]);
const area = z.union([polygonGeometry, multiPolygonGeometry]);

export const pointCollection = collection(anyPlace, pointProperties);
export const parkingCollection = collection(z.union([area, pointGeometry]), parkingProperties);
export const hazardCollection = collection(anyPlace, hazardProperties);
export const buildingCollection = collection(area, buildingProperties);
export const dropCollection = collection(pointGeometry, dropProperties);
export const donorCollection = collection(pointGeometry, donorProperties);

export const points = inlineOrFile(pointCollection);
export const parking = inlineOrFile(parkingCollection);
export const hazards = inlineOrFile(hazardCollection);
export const drops = inlineOrFile(dropCollection);
export const donors = inlineOrFile(donorCollection);
