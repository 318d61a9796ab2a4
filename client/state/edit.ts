import type { LngLat } from "../../src/geodesy/types.ts";
import type { Plan, PointCollection } from "../../src/plan/types.ts";
import { change, donors, drops, hazards, parking, points } from "./session.ts";

/** Kinds of things a plan holds, as the plan stage lists them. */
export type Kind = "points" | "parking" | "hazards" | "drops" | "donors";
const OF: Record<Kind, { value: { features: readonly unknown[] } | null }> = {
  points,
  parking,
  hazards,
  drops,
  donors,
};
export type AnyFeature = {
  type: "Feature";
  id?: string | number | undefined;
  geometry: GeoJSON.Geometry;
  properties: Record<string, unknown> & { id?: string; name?: string };
};

export const featuresOf = (kind: Kind): AnyFeature[] => (OF[kind].value?.features ?? []) as AnyFeature[];
const NAME: Record<Kind, string> = {
  points: "point",
  parking: "parking",
  hazards: "hazard",
  drops: "drop",
  donors: "donor",
};
export const idOf = (kind: Kind, f: AnyFeature, i: number): string =>
  f.properties.id ?? (f.id === undefined ? `${NAME[kind]}-${i + 1}` : String(f.id));

/** The plan with one collection replaced; a collection named by file then stands in the plan itself. */
function withFeatures(plan: Plan, kind: Kind, features: AnyFeature[]): Plan {
  const collection = { type: "FeatureCollection" as const, features } as unknown as PointCollection;
  if (kind === "drops" || kind === "donors")
    return { ...plan, backhaul: { ...plan.backhaul, [kind]: collection } } as Plan;
  return { ...plan, [kind]: collection } as Plan;
}
function freeId(kind: Kind): string {
  const taken = new Set(featuresOf(kind).map((f, i) => idOf(kind, f, i)));
  let n = taken.size + 1;
  while (taken.has(`${NAME[kind]}-${n}`)) n++;
  return `${NAME[kind]}-${n}`;
}

/** Adds a feature and gives its id. */
export function addFeature(kind: Kind, geometry: GeoJSON.Geometry, properties: Record<string, unknown>): string {
  const id = freeId(kind);
  const feature = { type: "Feature", geometry, properties: { id, ...properties } } as AnyFeature;
  const name = String(properties.name ?? NAME[kind]);
  change(`Added ${name}`, (plan) => withFeatures(plan, kind, [...featuresOf(kind), feature]));
  return id;
}
export function removeFeature(kind: Kind, id: string): void {
  const all = featuresOf(kind);
  const gone = all.find((f, i) => idOf(kind, f, i) === id);
  if (gone === undefined) return;
  change(`Took away ${gone.properties.name ?? id}`, (plan) =>
    withFeatures(
      plan,
      kind,
      all.filter((f) => f !== gone),
    ),
  );
}
function replace(kind: Kind, id: string, label: string, edit: (f: AnyFeature) => AnyFeature, cosmetic = false): void {
  const all = featuresOf(kind);
  const next = all.map((f, i) =>
    idOf(kind, f, i) === id
      ? edit(f.properties.id === undefined ? { ...f, properties: { ...f.properties, id } } : f)
      : f,
  );
  change(label, (plan) => withFeatures(plan, kind, next), cosmetic);
}
/** Sets one property; undefined takes it away, so that the default holds again. */
export function setProperty(kind: Kind, id: string, key: string, value: unknown): void {
  const f = featuresOf(kind).find((x, i) => idOf(kind, x, i) === id);
  if (f === undefined || Object.is(f.properties[key], value)) return;
  const name = f.properties.name ?? id;
  const cosmetic = ["name", "code", "notes"].includes(key);
  const label = key === "name" ? `Named ${String(value ?? id)}` : `Changed ${name}`;
  replace(
    kind,
    id,
    label,
    (old) => {
      const { [key]: _old, ...rest } = old.properties;
      return { ...old, properties: value === undefined ? rest : { ...rest, [key]: value } };
    },
    cosmetic,
  );
}
export function setGeometry(kind: Kind, id: string, geometry: GeoJSON.Geometry): void {
  const f = featuresOf(kind).find((x, i) => idOf(kind, x, i) === id);
  replace(kind, id, `Moved ${f?.properties.name ?? id}`, (old) => ({ ...old, geometry }));
}

/** Pins the trial spot, so that every run examines it in full. */
export function keepSpot(place: LngLat): void {
  change("Kept the trial spot", (plan) => {
    const pinned = plan.search?.pinned ?? [];
    const taken = new Set(pinned.map((p) => p.id));
    let n = pinned.length + 1;
    while (taken.has(`kept-${n}`)) n++;
    return {
      ...plan,
      search: { ...plan.search, pinned: [...pinned, { id: `kept-${n}`, lng: place.lng, lat: place.lat }] },
    };
  });
}
