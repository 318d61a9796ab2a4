import type { z } from "zod";
import { HardstandError } from "../errors/index.ts";
import { parseJson } from "./budget.ts";
import { issueWords, problemsOf, throwProblems } from "./problems.ts";
import {
  buildingCollection,
  donorCollection,
  dropCollection,
  hazardCollection,
  parkingCollection,
  pointCollection,
} from "./schema/features.ts";

/** The collections of a plan that may stand in files of their own. */
export const COLLECTIONS = {
  points: pointCollection,
  parking: parkingCollection,
  hazards: hazardCollection,
  drops: dropCollection,
  donors: donorCollection,
  buildings: buildingCollection,
} as const;
export type CollectionKind = keyof typeof COLLECTIONS;
export type CollectionOf<K extends CollectionKind> = z.infer<(typeof COLLECTIONS)[K]>;

/** Coordinate system names that mean longitude and latitude on WGS 84, in the older `crs` member of GeoJSON. */
const WGS84_NAMES = /(CRS:?84|EPSG:{1,2}4326|EPSG::4979|WGS ?84)$/i;

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);

/** Takes off what other programs add and RFC 7946 lets a reader ignore; refuses another coordinate system. */
function withoutForeign(document: Record<string, unknown>, file: string): Record<string, unknown> {
  const { crs, ...rest } = document;
  if (isRecord(crs)) {
    const name = isRecord(crs.properties) ? crs.properties.name : undefined;
    if (typeof name === "string" && !WGS84_NAMES.test(name))
      throw new HardstandError("file.not-geojson", "the file's coordinates are in another system", {
        where: `${file}: crs`,
        received: name,
        hint: "GeoJSON (RFC 7946) holds longitude and latitude on WGS 84; save it so",
      });
  }
  const known = new Set(["type", "features", "name", "bbox"]);
  return Object.fromEntries(Object.entries(rest).filter(([k]) => known.has(k)));
}

/**
 * Reads a GeoJSON feature collection of one kind.
 * @param kind  which properties and geometries are allowed
 * @param text  the file's text
 * @param file  its name as the plan gives it, for messages
 * Members of the collection that other programs add are left out; unknown properties are refused (except on buildings).
 */
export function parseCollection<K extends CollectionKind>(kind: K, text: string, file: string): CollectionOf<K> {
  const raw = parseJson(text, file);
  if (!isRecord(raw) || raw.type !== "FeatureCollection")
    throw new HardstandError("file.not-geojson", "the file is no GeoJSON feature collection", {
      where: file,
      received: isRecord(raw) ? (raw.type ?? "an object without a type") : raw,
      hint: 'it must start with {"type": "FeatureCollection", "features": […]}',
    });
  const document = withoutForeign(raw, file);
  const schema: z.ZodType = COLLECTIONS[kind];
  const result = schema.safeParse(document, { error: issueWords });
  if (!result.success) throwProblems(problemsOf(schema, document, result.error.issues), file);
  return result.data as CollectionOf<K>;
}

const STEM: Record<CollectionKind, string> = {
  points: "point",
  parking: "parking",
  hazards: "hazard",
  drops: "drop",
  donors: "donor",
  buildings: "building",
};

interface AnyFeature {
  id?: string | number | undefined;
  properties: { id?: string | undefined };
}

/** The id a feature bears by itself: its property first, then the GeoJSON id; undefined when it has none. */
export function ownId(feature: AnyFeature): string | undefined {
  return feature.properties.id ?? (feature.id === undefined ? undefined : String(feature.id));
}

/**
 * The collection with an id in every feature's properties: its own, else one made from kind and place in the list
 * ("parking-2", counted from 1; with a letter behind it should that be taken). Everything after loading refers by this id.
 */
export function withIds<K extends CollectionKind>(kind: K, collection: CollectionOf<K>): CollectionOf<K> {
  const features = collection.features as AnyFeature[];
  const taken = new Set(features.map(ownId));
  const named = features.map((feature, index) => {
    let id = ownId(feature);
    if (id === undefined) {
      id = `${STEM[kind]}-${index + 1}`;
      for (let n = 0; taken.has(id); n++) id = `${STEM[kind]}-${index + 1}${String.fromCharCode(97 + n)}`;
      taken.add(id);
    }
    return { ...feature, properties: { ...feature.properties, id } };
  });
  return { ...collection, features: named } as unknown as CollectionOf<K>;
}
