import type { Provenance } from "../../src/plan/outputs/types.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import { MODELS } from "../../src/propagation/index.ts";
import { VERSION } from "../version.ts";

/** Where an answer comes from: files with hashes, models with editions, seed, version, date. */
export function provenanceOf(loaded: LoadedPlan, date: string): Provenance {
  return {
    version: VERSION,
    date,
    seed: loaded.plan.search?.seed ?? 1,
    files: { ...loaded.hashes },
    models: MODELS.map((m) => ({ id: m.id, edition: m.edition })),
  };
}
