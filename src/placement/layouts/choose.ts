import { HardstandError } from "../../errors/index.ts";
import { submodularBound } from "./bound.ts";
import { exactChoice } from "./exact.ts";
import { type Choice, choiceOf, compareChoices, greedyExchange } from "./greedy.ts";
import { type LayoutInstance, MUST_WORTH } from "./instance.ts";
import { type MinimumUnits, minimumUnits } from "./minimum.ts";
import { MIP_ENTRIES, type MipAnswer, type MipGoal, type MipSolver, mipEntries, mipJob, spotsOf } from "./mip.ts";
import type { ServedMatrix } from "./served.ts";
import { layoutStanding } from "./standing.ts";

/** Longest a solver may work on one question, s. */
export const MIP_TIME_S = 10;
/** Units looked at when the fewest are sought. */
const MOST_UNITS = 20;
/** Scores of the solver and of the own code may differ by its feasibility tolerance, 1e-6 of 100 points a term. */
const SOLVER_TOLERANCE = 1e-4;

export interface ChosenLayout {
  choice: Choice;
  greedy: Choice;
  /** Nothing the candidate spots offer is better: own search in full, or the solver's proof held against the own score. */
  proven: boolean;
  /** Tightest proven limit on the score, ≥ the score. */
  bound: number;
  ownBound: number;
  ownProven: boolean;
  /** Null when no solver was asked or it had no bound to give. */
  solverBound: number | null;
  solverStatus: MipAnswer["status"] | "not-asked";
  minimum: MinimumUnits;
  /** Where the solver's word and the own code's disagree; empty when all is well. */
  doubts: string[];
}

/** Whether a set keeps what every layout has to keep. */
export function keepsRules(p: LayoutInstance, set: readonly number[]): boolean {
  return (
    set.length <= p.units &&
    new Set(set).size === set.length &&
    set.every((a, i) => set.slice(i + 1).every((b) => p.conflict[a * p.spots + b] === 0))
  );
}

/**
 * Chooses the spots of up to `units` units together: most musts, then the highest score. Greedy with exchange first, then the own search;
 * a solver, where there is one, answers the same question, and whatever it says is scored and bounded by the own code.
 */
export async function chooseLayout(
  p: LayoutInstance,
  matrix: ServedMatrix,
  solver: MipSolver | null,
  workLimit?: number,
): Promise<ChosenLayout> {
  const work = workLimit === undefined ? {} : { workLimit };
  const greedy = greedyExchange(p);
  const own = exactChoice(p, { start: greedy, ...work });
  let best: Choice = own;
  let minimum = minimumUnits(p, Math.min(MOST_UNITS, p.spots), workLimit);
  const doubts: string[] = [];
  let solverStatus: ChosenLayout["solverStatus"] = "not-asked";
  let solverBound: number | null = null;
  let solverProven = false;

  if (solver !== null && p.spots > 0 && mipEntries(p) <= MIP_ENTRIES) {
    // A solver that breaks or runs out of memory costs its proof, not the answer.
    const careful: MipSolver = async (job) => {
      try {
        return await solver(job);
      } catch (thrown) {
        const error = HardstandError.from(thrown);
        if (error.code === "run.cancelled") throw error;
        doubts.push(`The solver gave up (${error.message}); the own search stands.`);
        return { status: "fault", values: [], objective: null, bound: null, nodes: 0 };
      }
    };
    const ask = async (goal: MipGoal): Promise<{ answer: MipAnswer; scored: Choice | null }> => {
      const answer = await careful(mipJob(p, goal, MIP_TIME_S));
      const set = spotsOf(answer);
      if (answer.values.length === 0) return { answer, scored: null };
      if (goal.kind !== "fewest" && !keepsRules(p, set)) {
        doubts.push("The solver's spots break the number of units or the separation; its answer is left aside.");
        return { answer, scored: null };
      }
      const standing = layoutStanding(matrix, set);
      return { answer, scored: { ...choiceOf(p, set), score: standing.score, mustsMet: standing.mustsMet } };
    };
    const take = (found: Choice | null): void => {
      if (found !== null && compareChoices(found, best) < 0) best = found;
    };
    let mustsProven = own.proven || best.mustsMet === p.mustNeed.length;
    if (!mustsProven) {
      const most = await ask({ kind: "musts" });
      take(most.scored);
      mustsProven =
        most.answer.status === "optimal" && Math.round(most.answer.bound ?? Number.POSITIVE_INFINITY) <= best.mustsMet;
    }
    const { answer, scored } = await ask({ kind: "score", mustsMet: best.mustsMet });
    solverStatus = answer.status;
    if (answer.status === "infeasible")
      doubts.push(`The solver finds no layout that serves ${best.mustsMet} musts, the own code has one.`);
    if (scored !== null) {
      if (answer.objective !== null && Math.abs(answer.objective - scored.score) > SOLVER_TOLERANCE)
        doubts.push(
          `The solver puts its layout at ${answer.objective.toFixed(4)} points, the own code at ${scored.score.toFixed(4)}; the own score holds.`,
        );
      if (own.proven && compareChoices(scored, own) < 0 && scored.score - own.score > SOLVER_TOLERANCE)
        doubts.push("The solver's layout scores higher than the own search holds possible.");
      take(scored);
    }
    if (answer.bound !== null) {
      if (answer.bound < best.score - SOLVER_TOLERANCE)
        doubts.push(
          `The solver holds ${answer.bound.toFixed(4)} points to be the limit, a layout of ${best.score.toFixed(4)} is known; its limit is left aside.`,
        );
      else solverBound = Math.max(answer.bound, best.score);
    }
    solverProven =
      mustsProven &&
      answer.status === "optimal" &&
      solverBound !== null &&
      solverBound - best.score <= SOLVER_TOLERANCE &&
      doubts.length === 0;
    if (minimum.outOfReach.length === 0 && minimum.set?.length !== minimum.atLeast)
      minimum = await fewestBySolver(p, matrix, minimum, careful);
  }

  const ownBound =
    own.proven && best.score <= own.score + SOLVER_TOLERANCE ? best.score : submodularBound(p, [greedy.set, best.set]);
  return {
    choice: fillUp(p, matrix, best),
    greedy,
    proven: own.proven || solverProven,
    bound: Math.max(best.score, Math.min(ownBound, solverBound ?? Number.POSITIVE_INFINITY)),
    ownBound,
    ownProven: own.proven,
    solverBound,
    solverStatus,
    minimum,
    doubts,
  };
}

/** The solver's fewest units for all musts, believed only as far as the own code can see that they serve them. */
async function fewestBySolver(
  p: LayoutInstance,
  matrix: ServedMatrix,
  known: MinimumUnits,
  solver: MipSolver,
): Promise<MinimumUnits> {
  const answer = await solver(mipJob(p, { kind: "fewest" }, MIP_TIME_S));
  const set = spotsOf(answer);
  const serves = set.length > 0 && layoutStanding(matrix, set).mustsMet === p.mustNeed.length;
  if (!serves || !keepsRules({ ...p, units: p.spots }, set)) return known;
  const atLeast = answer.status === "optimal" ? Math.max(known.atLeast, Math.round(answer.bound ?? 0)) : known.atLeast;
  return { ...known, atLeast, set: known.set !== null && known.set.length <= set.length ? known.set : set };
}

/** Units the score has no use for still make a second one reach further: they go where the most is served twice. */
function fillUp(p: LayoutInstance, matrix: ServedMatrix, best: Choice): Choice {
  let set = [...best.set];
  while (set.length < p.units) {
    const value = (s: number): number => {
      const got = layoutStanding(matrix, [...set, s]);
      return MUST_WORTH * got.mustsMet + got.score + got.servedByTwoPct / 1000;
    };
    let found = -1;
    let most = Number.NEGATIVE_INFINITY;
    for (let s = 0; s < p.spots; s++) {
      if (!set.every((o) => o !== s && p.conflict[o * p.spots + s] === 0)) continue;
      const v = value(s);
      if (v > most + 1e-12) {
        most = v;
        found = s;
      }
    }
    if (found < 0) break;
    set = [...set, found];
  }
  return set.length === best.set.length ? best : choiceOf(p, set);
}
