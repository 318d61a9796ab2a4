import type { Plan } from "../../src/plan/types.ts";
import { api } from "../api.ts";

/** What a file beside the plan is to the plan. */
export const ROLES = ["ground", "surface", "canopy", "buildings", "none"] as const;
export type Role = (typeof ROLES)[number];
type RasterRole = "ground" | "surface" | "canopy";
const RASTERS: RasterRole[] = ["ground", "surface", "canopy"];
const nameOf = (entry: string | { file: string }): string => (typeof entry === "string" ? entry : entry.file);

/** A first guess by the file's name; the reader can change it. */
export function guessRole(name: string): Role {
  const n = name.toLowerCase();
  if (/\.(geo)?json$/.test(n)) return /build/.test(n) ? "buildings" : "none";
  if (/canopy|chm|veg|tree/.test(n)) return "canopy";
  if (/surface|dsm|first/.test(n)) return "surface";
  return "ground";
}
export function roleOf(plan: Plan, file: string): Role {
  if (plan.terrain.buildings === file) return "buildings";
  return RASTERS.find((r) => (plan.terrain[r] ?? []).some((e) => nameOf(e) === file)) ?? "none";
}
/** The plan with one file in one role and in no other. */
export function withRole(plan: Plan, file: string, role: Role): Plan {
  const terrain = { ...plan.terrain };
  for (const r of RASTERS) {
    const rest = (terrain[r] ?? []).filter((e) => nameOf(e) !== file);
    const next = r === role ? [...rest, file] : rest;
    if (next.length > 0) terrain[r] = next;
    else delete terrain[r];
  }
  if (terrain.buildings === file) delete terrain.buildings;
  if (role === "buildings") terrain.buildings = file;
  return { ...plan, terrain };
}

/** Puts files beside a plan and gives each its first role; the plan is stored once at the end. */
export async function putFiles(planId: string, files: File[], tell: (text: string) => void): Promise<void> {
  for (const [i, file] of files.entries()) {
    tell(`Reading ${file.name}, ${i + 1} of ${files.length}.`);
    await api.upload(planId, file);
  }
  const now = await api.plan(planId);
  let doc = now.plan as Plan;
  for (const file of files) if (roleOf(doc, file.name) === "none") doc = withRole(doc, file.name, guessRole(file.name));
  if (doc !== now.plan) await api.savePlan(planId, now.revision, doc);
}
