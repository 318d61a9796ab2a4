import type { CollectionKind } from "../collection.ts";
import type { LoadedPlan } from "../types.ts";

export type Position = number[];

/** What a check needs of a feature, whatever its kind. */
export interface AnyFeature {
  geometry:
    | { type: "Point"; coordinates: Position }
    | { type: "LineString"; coordinates: Position[] }
    | { type: "Polygon"; coordinates: Position[][] }
    | { type: "MultiPolygon"; coordinates: Position[][][] };
  properties: { id?: string | undefined; name?: string | undefined };
}

/** One collection with its place in the plan, for messages. */
export interface Located {
  kind: CollectionKind;
  /** File that holds it: its own, or the plan's. */
  file: string;
  /** Path in that file, as `points` or `backhaul.drops`; empty in a file of its own. */
  path: string;
  features: AnyFeature[];
}

/** All collections of a plan with where they stand. */
export function collectionsOf(loaded: LoadedPlan, planFile: string): Located[] {
  const { plan } = loaded;
  const inPlan: [CollectionKind, string, unknown][] = [
    ["points", "points", plan.points],
    ["parking", "parking", plan.parking],
    ["hazards", "hazards", plan.hazards],
    ["drops", "backhaul.drops", plan.backhaul?.drops],
    ["donors", "backhaul.donors", plan.backhaul?.donors],
    ["buildings", "terrain.buildings", plan.terrain.buildings],
  ];
  return inPlan.map(([kind, path, inlineOrFile]) => {
    const own = typeof inlineOrFile === "string";
    return {
      kind,
      file: own ? inlineOrFile : planFile,
      path: own ? "" : path,
      features: (loaded[kind]?.features ?? []) as unknown as AnyFeature[],
    };
  });
}

/** "plan.json: points.features[3] (Gate 1)". */
export function placeText(at: Located, index: number, tail = ""): string {
  const p = at.features[index]?.properties;
  const name = p?.name ?? p?.id;
  return `${at.file}: ${at.path === "" ? "" : `${at.path}.`}features[${index}]${tail}${name === undefined ? "" : ` (${name})`}`;
}

/** Every position of a geometry. */
export function positionsOf(geometry: AnyFeature["geometry"]): Position[] {
  switch (geometry.type) {
    case "Point":
      return [geometry.coordinates];
    case "LineString":
      return geometry.coordinates;
    case "Polygon":
      return geometry.coordinates.flat();
    case "MultiPolygon":
      return geometry.coordinates.flat(2);
  }
}

/** Polygons of a geometry, each a list of rings; none for points and lines. */
export function polygonsOf(geometry: AnyFeature["geometry"]): Position[][][] {
  if (geometry.type === "Polygon") return [geometry.coordinates];
  return geometry.type === "MultiPolygon" ? geometry.coordinates : [];
}
