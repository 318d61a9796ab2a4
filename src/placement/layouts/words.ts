import type { Scenario } from "../scenario.ts";
import type { ExaminedSpot } from "../spot-detail.ts";
import type { ChosenLayout } from "./choose.ts";
import type { LayoutInstance } from "./instance.ts";
import { minimumUnits } from "./minimum.ts";
import type { ServedMatrix } from "./served.ts";
import type { LayoutStanding } from "./standing.ts";

const pct = (share: number): string => `${(Math.floor(share * 1000 + 1e-6) / 10).toFixed(1).replace(/\.0$/, "")} %`;
export const count = (n: number, what: string): string => `${n} ${what}${n === 1 ? "" : "s"}`;

const demandName = (s: Scenario, index: number): string => {
  const d = s.demands[index]!;
  return `${s.sites[d.site]!.name} (${d.needId})`;
};

const found = (s: Scenario, index: number, share: number): string =>
  s.sites[s.demands[index]!.site]!.kind === "point" ? pct(share) : `${pct(share)} of its tiles`;

/** How the layout was found and how far it could be from the best. */
export function proofWords(c: ChosenLayout, units: number, spots: number): string[] {
  const { choice, greedy } = c;
  const from = `${count(units, "unit")} chosen together from ${count(spots, "candidate spot")}: score ${choice.score.toFixed(1)}`;
  const gap = c.bound - choice.score;
  const who =
    c.ownProven && c.solverStatus === "optimal" && c.solverBound !== null && c.doubts.length === 0
      ? "proven by two searches of different kind"
      : c.ownProven
        ? "proven by a full search"
        : "proven by the solver and scored anew";
  const said = c.proven
    ? `${from}; no other ${units === 1 ? "spot" : "set of them"} serves as many musts at a higher score (${who}).`
    : `${from}; at most ${c.bound.toFixed(1)} is possible there (gap ${((100 * gap) / c.bound).toFixed(1)} %).`;
  const placed = choice.set.length;
  const same = greedy.mustsMet === choice.mustsMet && Math.abs(greedy.score - choice.score) < 0.05;
  return [
    said,
    ...(placed < units ? [`Only ${placed} of ${count(units, "unit")} can stand there a separation apart.`] : []),
    same
      ? "Placing one unit after the other, then exchanging, finds a layout just as good."
      : `Placing one unit after the other, then exchanging, gives ${greedy.score.toFixed(1)}${greedy.mustsMet < choice.mustsMet ? ` and serves ${count(choice.mustsMet - greedy.mustsMet, "must")} fewer` : ""}.`,
    ...c.doubts,
  ];
}

/** Why musts stay short, in the plan's words: which, by how much, and what would do. */
export function mustWords(
  s: Scenario,
  p: LayoutInstance,
  matrix: ServedMatrix,
  candidates: readonly ExaminedSpot[],
  c: ChosenLayout,
  standing: LayoutStanding,
  names: (set: readonly number[]) => string,
): string[] {
  const musts = p.mustNeed.length;
  const total = count(musts, "must");
  if (musts === 0) return ["The plan has no musts."];
  const units = count(p.units, "unit");
  const fewest = c.minimum.set?.length ?? null;
  const exactly = fewest !== null && fewest === c.minimum.atLeast;
  if (standing.mustsMet === musts) {
    const fewer =
      fewest === null || fewest >= p.units
        ? `${p.units === 1 ? "" : exactly && fewest === p.units ? " Fewer units do not." : ""}`
        : ` ${fewest === 1 ? "One unit alone does that" : `${fewest} units would do for that`}: ${names(c.minimum.set!)}.`;
    return [`${musts === 1 ? "The must is" : `All ${musts} musts are`} served.${fewer}`];
  }
  const out = [
    `${units} ${p.units === 1 ? "serves" : "serve"} ${standing.mustsMet} of ${total}${c.proven ? ", and no other choice serves more" : ""}.`,
  ];
  const hopeless = new Set(c.minimum.outOfReach.map((m) => p.mustDemand[m]!));
  const everywhere = layoutStandingOfAll(matrix);
  for (const d of standing.demands) {
    const demand = s.demands[d.demand]!;
    if (s.sites[demand.site]!.rung !== "must" || d.met) continue;
    const unknown = d.high >= demand.target ? " What is unknown there could still change that." : "";
    if (hopeless.has(d.demand)) {
      const shorts = candidates.map((e) => e.evaluation.values[d.demand]!.shortDb).filter((v) => !Number.isNaN(v));
      const least = shorts.length === 0 ? "" : `; the nearest of them is ${Math.min(...shorts).toFixed(1)} dB short`;
      out.push(
        `No candidate spot serves ${demandName(s, d.demand)}: all of them together reach ${found(s, d.demand, everywhere[d.demand]!)}, ${pct(demand.target)} is asked${least}. It needs parking nearer or higher, a better terminal, or a lower target.${unknown}`,
      );
    } else
      out.push(
        `Left short: ${demandName(s, d.demand)}, ${found(s, d.demand, d.share)} where ${pct(demand.target)} is asked.${unknown}`,
      );
  }
  if (hopeless.size > 0) return out;
  if (fewest !== null)
    out.push(
      exactly
        ? `${fewest} units serve every must, fewer do not: ${names(c.minimum.set!)}.`
        : `${fewest} units serve every must: ${names(c.minimum.set!)}. Whether ${c.minimum.atLeast} could is not settled.`,
    );
  else {
    const free = minimumUnits({ ...p, conflict: new Uint8Array(p.conflict.length) }, Math.min(20, p.spots));
    out.push(
      free.set === null
        ? `${c.minimum.atLeast > 1 ? `Fewer than ${c.minimum.atLeast} units cannot serve every must; more were not tried.` : "How many units would serve every must is not settled."}`
        : `The separation of ${s.separationM} m stands in the way: without it ${count(free.set.length, "unit")} would serve every must.`,
    );
  }
  return out;
}

/** What every demand would get from a unit on every candidate spot, by demand. */
function layoutStandingOfAll(matrix: ServedMatrix): number[] {
  return matrix.demands.map((d) => {
    let served = 0;
    let best = 0;
    for (let t = 0; t < d.tiles; t++) {
      let most = 0;
      for (let s = 0; s < matrix.spots; s++) {
        const v = d.probability[s * d.tiles + t]!;
        if (v > most) most = v;
      }
      if (most >= d.tileTarget) served++;
      best = Math.max(best, most);
    }
    return d.isPoint ? best : served / d.tiles;
  });
}
