import { HardstandError } from "../../errors/index.ts";
import type { LoadedPlan } from "../types.ts";
import { collectionsOf, placeText } from "./context.ts";

function refuse(id: string, first: string, second: string): never {
  throw new HardstandError("plan.duplicate-id", `the id "${id}" is used twice`, {
    where: second,
    received: id,
    hint: `the first is at ${first}; give one of them another id`,
  });
}

function unique(ids: readonly (string | undefined)[], where: (index: number) => string): void {
  const seen = new Map<string, number>();
  ids.forEach((id, index) => {
    if (id === undefined) return;
    const before = seen.get(id);
    if (before !== undefined) refuse(id, where(before), where(index));
    seen.set(id, index);
  });
}

/** Refuses an id used twice inside a list or collection (plan.duplicate-id), naming both places. */
export function checkIds(loaded: LoadedPlan, planFile: string): void {
  const { plan } = loaded;
  const lists: [string, readonly { id?: string | undefined }[] | undefined][] = [
    ["unit.services", plan.unit.services],
    ["terminals", plan.terminals],
    ["satellites", plan.satellites],
    ["objectives", plan.objectives],
    ["periods", plan.periods],
    ["horizons", plan.horizons],
    ["search.pinned", plan.search?.pinned],
    ["search.excluded", plan.search?.excluded],
  ];
  plan.unit.services.forEach((s, i) => {
    lists.push([`unit.services[${i}].needs`, s.needs]);
  });
  for (const [path, rows] of lists)
    unique(
      (rows ?? []).map((r) => r.id),
      (i) => `${planFile}: ${path}[${i}]`,
    );
  for (const at of collectionsOf(loaded, planFile))
    unique(
      at.features.map((f) => f.properties.id),
      (i) => placeText(at, i),
    );
}
