import type { Plan } from "../../src/plan/types.ts";

/** What differs between two plans, as sentences a planner would say. Order of features and keys does not count. */
type Json = unknown;
interface Feature {
  id?: string | number;
  geometry: Json;
  properties: Record<string, Json> & { id?: string; name?: string };
}
const COLLECTIONS: [key: string, word: string][] = [
  ["points", "point"],
  ["parking", "parking area"],
  ["hazards", "hazard"],
];
const WORDS: Record<string, string> = {
  targetPct: "target",
  heightM: "height",
  rung: "need",
  needs: "services",
  place: "where people are",
  terminal: "terminal",
  voltageKv: "voltage",
  waysOut: "ways out",
  tipHeightM: "tip height",
  antennaHeightM: "antenna height",
  maxSlopeDeg: "largest slope",
  name: "name",
};
const same = (a: Json, b: Json): boolean => JSON.stringify(sorted(a)) === JSON.stringify(sorted(b));
function sorted(v: Json): Json {
  if (Array.isArray(v)) return v.map(sorted);
  if (v === null || typeof v !== "object") return v;
  return Object.fromEntries(
    Object.entries(v as Record<string, Json>)
      .filter(([, x]) => x !== undefined)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([k, x]) => [k, sorted(x)]),
  );
}
const say = (v: Json): string =>
  v === undefined ? "default" : Array.isArray(v) ? v.join(", ") : typeof v === "object" ? "other" : String(v);
const word = (key: string): string => WORDS[key] ?? key.replace(/([A-Z])/g, " $1").toLowerCase();

function features(plan: Plan, key: string): Map<string, Feature> | null {
  const value = (plan as unknown as Record<string, Json>)[key];
  if (value === undefined) return new Map();
  if (typeof value !== "object" || value === null) return null;
  return new Map(
    ((value as { features?: Feature[] }).features ?? []).map((f, i) => [String(f.properties.id ?? f.id ?? i), f]),
  );
}
function fieldChanges(before: Record<string, Json>, after: Record<string, Json>): string[] {
  const keys = [...new Set([...Object.keys(before), ...Object.keys(after)])];
  return keys.filter((k) => !same(before[k], after[k])).map((k) => `${word(k)} ${say(before[k])} → ${say(after[k])}`);
}

export function planChanges(before: Plan, after: Plan): string[] {
  const out: string[] = [];
  for (const [key, kind] of COLLECTIONS) {
    const a = features(before, key);
    const b = features(after, key);
    if (a === null || b === null) {
      if (!same((before as never)[key], (after as never)[key]))
        out.push(`${kind}s read from another file, or edited here`);
      continue;
    }
    for (const [id, f] of b) {
      const name = f.properties.name ?? id;
      const old = a.get(id);
      if (old === undefined) out.push(`Added ${kind} ${name}`);
      else {
        if (!same(old.geometry, f.geometry)) out.push(`Moved ${name}`);
        const fields = fieldChanges(old.properties, f.properties);
        if (fields.length > 0) out.push(`${name}: ${fields.join("; ")}`);
      }
    }
    for (const [id, f] of a) if (!b.has(id)) out.push(`Took away ${kind} ${f.properties.name ?? id}`);
  }
  const unit = fieldChanges(
    before.unit as unknown as Record<string, Json>,
    after.unit as unknown as Record<string, Json>,
  );
  if (unit.length > 0) out.push(`The unit: ${unit.join("; ")}`);
  const done = new Set([...COLLECTIONS.map(([k]) => k), "unit", "$schema"]);
  const others = fieldChanges(
    Object.fromEntries(Object.entries(before).filter(([k]) => !done.has(k))),
    Object.fromEntries(Object.entries(after).filter(([k]) => !done.has(k))),
  );
  for (const o of others) out.push(o.charAt(0).toUpperCase() + o.slice(1).replace(" other → other", " changed"));
  return out;
}
