import type { RankAnswer } from "../../plan/outputs/types.ts";
import type { Scenario } from "../scenario.ts";
import type { ServedMatrix } from "./served.ts";
import { layoutStanding } from "./standing.ts";

export type ObjectiveResult = NonNullable<RankAnswer["objectives"]>[number];

/**
 * The plan's objectives for a set of spots: share of tiles served (on a point: its probability), with every unit standing or in the
 * worst single loss. Unknown tiles count as not served; an objective that they could still turn is neither met nor short (null).
 */
export function objectiveResults(
  s: Scenario,
  matrix: ServedMatrix,
  set: readonly number[],
): { results: ObjectiveResult[]; warnings: { code: string; text: string }[] } {
  const warnings: { code: string; text: string }[] = [];
  const sets = { 0: [set], 1: set.map((_, u) => set.filter((_s, i) => i !== u)) };
  const results = (s.loaded.plan.objectives ?? []).map((o): ObjectiveResult => {
    const unitsLost = o.unitsLost ?? 0;
    const common = {
      ...(o.id === undefined ? {} : { id: o.id }),
      area: o.area,
      need: o.need,
      sharePct: o.sharePct,
      unitsLost,
    };
    const index = s.demands.findIndex((d) => s.sites[d.site]!.id === o.area && d.needId === o.need);
    if (index < 0) {
      warnings.push({
        code: "objective.not-asked",
        text: `The objective for ${o.area} (${o.need}) is left open: ${o.area} does not ask for ${o.need}. Add the need to it.`,
      });
      return { ...common, foundPct: null, met: null };
    }
    const found = sets[unitsLost].map((left) => layoutStanding(matrix, left).demands[index]!);
    // No unit at all, or the only one lost: nothing is served.
    const low = found.length === 0 ? 0 : Math.min(...found.map((f) => f.share));
    const high = found.length === 0 ? 0 : Math.min(...found.map((f) => f.high));
    const asked = o.sharePct / 100;
    const met = low >= asked ? true : high >= asked ? null : false;
    return { ...common, foundPct: met === null ? null : 100 * low, met };
  });
  return { results, warnings };
}
