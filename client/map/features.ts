import type { Feature, FeatureCollection, Geometry, Position } from "geojson";
import type { PointResult } from "../../src/plan/outputs/types.ts";
import type { BuildingCollection, HazardCollection, ParkingCollection, PointCollection } from "../../src/plan/types.ts";
import { chance, height, type LengthUnit } from "../lib/format.ts";
import { middle, positions } from "../lib/middle.ts";
import type { Bounds } from "./port.ts";

/** Plan and results as features of the map, labels already in words. */
export const collection = (features: Feature[]): FeatureCollection => ({ type: "FeatureCollection", features });
const point = (at: Position, properties: Record<string, unknown>): Feature => ({
  type: "Feature",
  geometry: { type: "Point", coordinates: at },
  properties,
});

/** Middle of a polygon's northern side: where its name stands, out of the way of what lies inside. */
function topMiddle(geometry: Geometry): Position {
  const all = positions(geometry);
  const c = middle(geometry);
  const top = all.filter((p) => p[1]! > c[1]!);
  const north = Math.max(...all.map((p) => p[1]!));
  const lng = top.length > 1 ? top.reduce((s, p) => s + p[0]!, 0) / top.length : c[0]!;
  return [lng, north];
}
export function boundsOf(collections: (FeatureCollection | null)[]): Bounds | null {
  const all = collections.flatMap((c) => c?.features.flatMap((f) => positions(f.geometry)) ?? []);
  if (all.length === 0) return null;
  const b = { west: 180, south: 90, east: -180, north: -90 };
  for (const [lng, lat] of all as [number, number][]) {
    b.west = Math.min(b.west, lng);
    b.east = Math.max(b.east, lng);
    b.south = Math.min(b.south, lat);
    b.north = Math.max(b.north, lat);
  }
  return b;
}

export const featureId = (
  f: { properties: { id?: string | undefined }; id?: string | number | undefined },
  i: number,
  kind: string,
): string => f.properties.id ?? (f.id === undefined ? `${kind}-${i + 1}` : String(f.id));

/** Points with code and, where the selected spot falls short of one, its chance. */
export function pointPlaces(
  points: PointCollection,
  results: Map<string, PointResult> | null,
  focusId: string | null,
  litId: string | null,
): FeatureCollection {
  return collection(
    points.features.map((f, i) => {
      const id = featureId(f, i, "point");
      const p = f.properties;
      const found = results?.get(id);
      const short = found?.met === false;
      const code = p.code ?? p.name ?? id;
      const label = short
        ? `${code} ${chance(found?.probability)}`
        : focusId === id || litId === id
          ? (p.name ?? code)
          : code;
      return point(middle(f.geometry as Geometry), { id, rung: p.rung, label, short, lit: litId === id });
    }),
  );
}
export const parkingPlaces = (parking: ParkingCollection): FeatureCollection =>
  collection(
    parking.features
      .filter((f) => f.properties.name !== undefined)
      .map((f) => point(topMiddle(f.geometry as Geometry), { name: f.properties.name })),
  );
export function hazardFeatures(hazards: HazardCollection): FeatureCollection {
  return collection(
    hazards.features.map((f, i) => {
      const p = f.properties;
      const volts = p.kind === "power-line" && p.voltageKv !== undefined ? `${p.voltageKv} kV line` : "power line";
      const label = p.name ?? (p.kind === "power-line" ? volts : "");
      return { ...(f as Feature), properties: { ...p, id: featureId(f, i, "hazard"), label } };
    }),
  );
}
/** Hazards, drops and donors that are shown as a symbol. */
export function things(
  hazards: HazardCollection | null,
  drops: FeatureCollection | null,
  donors: FeatureCollection | null,
): FeatureCollection {
  const out: Feature[] = [];
  for (const f of hazards?.features ?? []) {
    const p = f.properties;
    if (p.kind === "power-line" || (p.kind === "water" && f.geometry.type !== "Point")) continue;
    const area = f.geometry.type !== "Point";
    out.push(
      point(middle(f.geometry as Geometry), {
        icon: `hz-${p.kind}`,
        label: area ? "" : (p.name ?? ""),
        tone: "hazard",
      }),
    );
  }
  for (const f of drops?.features ?? [])
    out.push(point(middle(f.geometry), { icon: "drop", label: f.properties?.name ?? "", tone: "backhaul" }));
  for (const f of donors?.features ?? [])
    out.push(point(middle(f.geometry), { icon: "donor", label: f.properties?.name ?? "", tone: "backhaul" }));
  return collection(out);
}
export function buildingFeatures(buildings: BuildingCollection, unit: LengthUnit): FeatureCollection {
  return collection(
    buildings.features.map((f, i) => {
      const p = f.properties;
      const tall = p.heightM !== undefined && p.heightM >= 20 ? ` ${height(p.heightM, unit)}` : "";
      return {
        ...(f as Feature),
        properties: { id: featureId(f, i, "building"), label: p.name ? `${p.name}${tall}` : "" },
      };
    }),
  );
}
export const contourFeatures = (contours: FeatureCollection, unit: LengthUnit): FeatureCollection =>
  collection(
    contours.features.map((f) => ({
      ...f,
      properties: { ...f.properties, label: height(Number(f.properties?.heightM), unit).replace(/ \w+$/, "") },
    })),
  );
export { away } from "../lib/geo.ts";
