import type { ModelRow } from "../../src/plan/outputs/types.ts";
import { MODELS } from "../../src/propagation/index.ts";

/** The model registry in its published form. */
export function modelRows(): ModelRow[] {
  return MODELS.map((m) => ({
    id: m.id,
    title: m.title,
    edition: m.edition,
    source: m.source,
    validity: m.validity.text,
    verified: m.verified,
    tolerance: m.tolerance,
  }));
}
