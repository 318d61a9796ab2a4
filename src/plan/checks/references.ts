import { HardstandError } from "../../errors/index.ts";
import { nearestName } from "../known-fields.ts";
import type { LoadedPlan } from "../types.ts";
import { collectionsOf, placeText } from "./context.ts";

function known(kind: string, value: string, names: readonly string[], where: string): void {
  if (names.includes(value)) return;
  const near = nearestName(value, names);
  const all =
    names.length === 0
      ? "there is none"
      : `there are ${names.slice(0, 12).join(", ")}${names.length > 12 ? ", …" : ""}`;
  throw new HardstandError("plan.unknown-reference", `there is no ${kind} "${value}"`, {
    where,
    received: value,
    hint: near === null ? all : `did you mean "${near}"? ${all}`,
  });
}

/**
 * Refuses names that lead nowhere (plan.unknown-reference): service/need, terminal, area of an objective, roof, period.
 * Warns of ways back that the plan lists in its order but does not have.
 */
export function checkReferences(loaded: LoadedPlan, planFile: string): { code: string; text: string }[] {
  const { plan, points } = loaded;
  const needs = plan.unit.services.flatMap((s) => s.needs.map((n) => `${s.id}/${n.id}`));
  const terminals = plan.terminals.map((t) => t.id);
  const buildings = loaded.buildings?.features.map((f) => f.properties.id ?? "") ?? [];
  const periods = plan.periods?.map((p) => p.id) ?? [];
  const at = collectionsOf(loaded, planFile).find((c) => c.kind === "points")!;
  points.features.forEach(({ properties: p }, i) => {
    p.needs.forEach((need, j) => {
      known("need", need, needs, placeText(at, i, `.properties.needs[${j}]`));
    });
    if (p.terminal !== undefined) known("terminal", p.terminal, terminals, placeText(at, i, ".properties.terminal"));
    if (p.onRoof !== undefined) known("building", p.onRoof, buildings, placeText(at, i, ".properties.onRoof"));
    p.periods?.forEach((id, j) => {
      known("period", id, periods, placeText(at, i, `.properties.periods[${j}]`));
    });
  });
  const ids = points.features.map((f) => f.properties.id ?? "");
  plan.objectives?.forEach((o, i) => {
    known("point or area", o.area, ids, `${planFile}: objectives[${i}].area`);
    known("need", o.need, needs, `${planFile}: objectives[${i}].need`);
  });
  return backhaulWarnings(loaded);
}

function backhaulWarnings({ plan, drops, donors }: LoadedPlan): { code: string; text: string }[] {
  const there = {
    ethernet: drops.features.length > 0,
    donor: donors.features.length > 0,
    satellite: plan.unit.dish !== undefined && (plan.satellites?.length ?? 0) > 0,
  };
  const lacks = { ethernet: "no drop", donor: "no donor cell", satellite: "no dish or no satellite" };
  return (plan.backhaul?.order ?? [])
    .filter((way) => !there[way])
    .map((way) => ({
      code: "plan.backhaul-empty",
      text: `The order of ways back names ${way}, but the plan has ${lacks[way]}.`,
    }));
}
