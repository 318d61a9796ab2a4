import type { Layout, RankAnswer, Spot, Warning } from "../../plan/outputs/types.ts";
import type { Scenario } from "../scenario.ts";
import type { ExaminedSpot } from "../spot-detail.ts";
import { type ChosenLayout, chooseLayout } from "./choose.ts";
import { type LayoutInstance, layoutInstance } from "./instance.ts";
import { lostUnits } from "./lost.ts";
import type { MipSolver } from "./mip.ts";
import { objectiveResults } from "./objectives.ts";
import { type ServedMatrix, servedMatrix } from "./served.ts";
import { layoutStanding } from "./standing.ts";
import { mustWords, proofWords } from "./words.ts";

/** A joint choice before its spots have their published names. */
export interface Joint {
  /** Spots the layouts, their lost-unit cases and the fewest units stand on. */
  used: Set<ExaminedSpot>;
  warnings: Warning[];
  objectives: NonNullable<RankAnswer["objectives"]>;
  publish(spotOf: ReadonlyMap<ExaminedSpot, Spot>): Pick<RankAnswer, "layouts" | "minimumUnits">;
}

/** Units more than asked for that are still laid out when that serves every must. */
const MORE_UNITS = 4;
/** A gap below this is none, %. */
const NO_GAP_PCT = 1e-4;

/** Spots a unit may stand on: no rule broken, and a way back to the network of its own where the plan wants one. */
export function layoutCandidates(s: Scenario, examined: readonly ExaminedSpot[]): ExaminedSpot[] {
  const able = examined.filter((e) => !e.keys.noGo && e.keys.mustsShort === e.evaluation.mustsShort);
  const sure = able.filter((e) => !e.keys.backhaulUnknown);
  return sure.length >= s.unitCount ? sure : able;
}

/** Chooses the plan's units together from spots examined in full. */
export async function chooseUnits(
  s: Scenario,
  examined: readonly ExaminedSpot[],
  solver: MipSolver | null,
): Promise<Joint> {
  const candidates = layoutCandidates(s, examined);
  const matrix = servedMatrix(
    s,
    candidates.map((e) => e.evaluation),
  );
  const problem = (units: number): LayoutInstance =>
    layoutInstance(
      matrix,
      candidates.map((e) => e.at),
      { units, separationM: s.separationM },
    );
  const asked = problem(s.unitCount);
  const chosen = [{ p: asked, c: await chooseLayout(asked, matrix, solver) }];
  const minimum = chosen[0]!.c.minimum;
  const fewest = minimum.set?.length ?? 0;
  if (
    chosen[0]!.c.choice.mustsMet < asked.mustNeed.length &&
    fewest > s.unitCount &&
    fewest <= s.unitCount + MORE_UNITS
  ) {
    const p = problem(fewest);
    chosen.push({ p, c: await chooseLayout(p, matrix, solver) });
  }
  const cases = chosen.map(({ p, c }) => lostUnits(p, matrix, c.choice.set));
  const used = new Set<number>(minimum.set ?? []);
  chosen.forEach(({ c }, i) => {
    for (const spot of c.choice.set) used.add(spot);
    for (const l of cases[i]!) if (l.move) used.add(l.move.spot);
  });
  const objectives = objectiveResults(s, matrix, chosen[0]!.c.choice.set);
  const warnings: Warning[] = [...objectives.warnings];
  if (candidates.length === 0)
    warnings.push({
      code: "layout.no-candidates",
      text: "No spot may be used by a unit, so none are laid out together: every spot breaks a rule or lacks a way back.",
    });
  else
    warnings.push({
      code: "layout.channels",
      text: "Units laid out together are scored as if they did not disturb one another, and each has a way back of its own: give them separate channels.",
    });
  return {
    used: new Set([...used].map((i) => candidates[i]!)),
    warnings,
    objectives: objectives.results,
    publish: (spotOf) => {
      const spot = (i: number): Spot => spotOf.get(candidates[i]!)!;
      const names = (set: readonly number[]): string => set.map((i) => spot(i).name).join("; ");
      if (candidates.length === 0) return { layouts: [], minimumUnits: { units: null, atLeast: null, spots: [] } };
      return {
        layouts: chosen.map(({ p, c }, i) => publishLayout(s, p, matrix, candidates, c, cases[i]!, spot, names)),
        minimumUnits: {
          units: minimum.set !== null && minimum.set.length === minimum.atLeast ? minimum.atLeast : null,
          atLeast: minimum.outOfReach.length > 0 ? null : minimum.atLeast,
          spots: (minimum.set ?? []).map((m) => spot(m).id),
        },
      };
    },
  };
}

function publishLayout(
  s: Scenario,
  p: LayoutInstance,
  matrix: ServedMatrix,
  candidates: readonly ExaminedSpot[],
  c: ChosenLayout,
  cases: ReturnType<typeof lostUnits>,
  spot: (i: number) => Spot,
  names: (set: readonly number[]) => string,
): Layout {
  const { set } = c.choice;
  const standing = layoutStanding(matrix, set);
  const alone = set.map((one) => layoutStanding(matrix, [one]));
  const gapPct = c.bound <= 0 ? 0 : (100 * Math.max(0, c.bound - standing.score)) / c.bound;
  const lost = cases.map((l): Layout["lost"][number] => ({
    spot: spot(set[l.unit]!).id,
    score: l.left.score,
    mustsShort: l.left.mustsShort + l.left.mustsUnknown,
    replacement: l.move ? spot(l.move.spot).id : null,
    moved: l.move ? spot(set[l.move.unit]!).id : null,
    movedScore: l.move ? l.move.after.score : null,
    movedMustsShort: l.move ? l.move.after.mustsShort + l.move.after.mustsUnknown : null,
  }));
  return {
    spots: set.map((i) => spot(i).id),
    score: standing.score,
    bound: c.bound,
    gapPct: gapPct < NO_GAP_PCT ? 0 : gapPct,
    method: c.proven ? "exact" : "greedy-exchange",
    greedyScore: c.greedy.score,
    servedByOnePct: standing.servedByOnePct,
    servedByTwoPct: standing.servedByTwoPct,
    lost,
    unitCount: p.units,
    candidates: p.spots,
    mustsShort: standing.mustsShort,
    mustsUnknown: standing.mustsUnknown,
    ownBound: c.ownBound,
    solverBound: c.solverBound,
    solverStatus: c.solverStatus,
    needs: standing.demands.map((d, i) => {
      const demand = s.demands[d.demand]!;
      const site = s.sites[demand.site]!;
      return {
        id: site.id,
        need: demand.needId,
        rung: site.rung,
        kind: site.kind,
        target: demand.target,
        share: d.share,
        twoShare: d.twoShare,
        met: d.met ? true : d.high >= demand.target ? null : false,
        byUnit: alone.map((a) => a.demands[i]!.share),
        servedBy: [...d.servedBy],
      };
    }),
    reasons: [
      ...proofWords(c, p.units, p.spots),
      ...mustWords(s, p, matrix, candidates, c, standing, names),
      ...cases.map((l, i) => lostWords(l, lost[i]!, set, spot)),
    ],
  };
}

function lostWords(
  l: ReturnType<typeof lostUnits>[number],
  published: Layout["lost"][number],
  set: readonly number[],
  spot: (i: number) => Spot,
): string {
  const short = (n: number): string => (n === 0 ? "" : `, ${n} must${n === 1 ? "" : "s"} short`);
  const left = `Without the unit at ${spot(set[l.unit]!).name}: score ${published.score.toFixed(1)}${short(published.mustsShort)}`;
  return l.move
    ? `${left}; moving the unit at ${spot(set[l.move.unit]!).name} to ${spot(l.move.spot).name} gives ${l.move.after.score.toFixed(1)}${short(published.movedMustsShort!)}.`
    : `${left}; no move of ${set.length > 2 ? "one of the others" : "the other"} helps.`;
}
