import type { LayoutInstance } from "./instance.ts";

/** What is asked of a mixed-integer solver, and what it may spend. */
export interface MipJob {
  /** The problem in the LP text format. */
  lp: string;
  /** Names of the columns to read. */
  columns: string[];
  timeLimitS: number;
}

export interface MipAnswer {
  status: "optimal" | "infeasible" | "stopped" | "fault";
  /** Values of the columns asked for; empty when there is no solution. */
  values: number[];
  objective: number | null;
  /** The solver's own bound on the objective. */
  bound: number | null;
  nodes: number;
}

/** Solves a job somewhere: a worker thread of its own, a fresh solver each time. */
export type MipSolver = (job: MipJob) => Promise<MipAnswer>;

/** Above this many coefficients the problem is not handed to the solver: its memory would not be sure to last. */
export const MIP_ENTRIES = 1_500_000;

export const mipEntries = (p: LayoutInstance): number => 3 * p.item.length + p.mustItem.length + p.spots * p.spots;

/** Terms of a sum, a few on each line: readers of the format limit a line's length. */
function sum(terms: readonly string[]): string {
  if (terms.length === 0) return "0 x0";
  const lines: string[] = [];
  for (let i = 0; i < terms.length; i += 10) lines.push(terms.slice(i, i + 10).join(" + "));
  return lines.join("\n + ");
}

/** Shortest decimal text that gives the same number back; the format takes no sign inside a sum, and worths are never negative. */
const number = (v: number): string => String(v);

const constraint = (name: string, terms: readonly string[], relation: "<=" | ">=", right: string): string =>
  ` ${name}: ${sum(terms)} ${relation} ${right}`;

export type MipGoal =
  /** Highest score while at least this many musts are served. */
  | { kind: "score"; mustsMet: number }
  /** Most musts served. */
  | { kind: "musts" }
  /** Fewest units that serve every must. */
  | { kind: "fewest" };

/**
 * The choice of units as a mixed-integer problem in LP text. Binary x = a unit stands there; an item whose value is 1 wherever it is served
 * has one y ≤ the sum of its spots, an item of several values has one z per spot with Σ z ≤ 1 and z ≤ x: the best value wins because
 * the sum is maximised. A must m is served when its tiles reach the need.
 */
export function mipJob(p: LayoutInstance, goal: MipGoal, timeLimitS: number): MipJob {
  const rows: string[] = [];
  const bounded: string[] = [];
  const objective: string[] = [];
  const byItem: [number, number][][] = Array.from({ length: p.items }, () => []);
  for (let s = 0; s < p.spots; s++)
    for (let e = p.start[s]!; e < p.start[s + 1]!; e++) byItem[p.item[e]!]!.push([s, p.value[e]!]);

  if (goal.kind === "score")
    byItem.forEach((spots, i) => {
      if (spots.length === 0) return;
      if (spots.every(([, v]) => v === 1)) {
        objective.push(`${number(p.worth[i]!)} y${i}`);
        bounded.push(`y${i}`);
        rows.push(` a${i}: - y${i} + ${sum(spots.map(([s]) => `x${s}`))} >= 0`);
        return;
      }
      for (const [s, v] of spots) {
        objective.push(`${number(p.worth[i]! * v)} z${i}_${s}`);
        bounded.push(`z${i}_${s}`);
        rows.push(` b${i}_${s}: x${s} - z${i}_${s} >= 0`);
      }
      rows.push(
        constraint(
          `c${i}`,
          spots.map(([s]) => `z${i}_${s}`),
          "<=",
          "1",
        ),
      );
    });

  const musts = p.mustNeed.length;
  const hard = goal.kind === "fewest" || (goal.kind === "score" && goal.mustsMet >= musts);
  const served: string[] = [];
  if (goal.kind !== "score" || goal.mustsMet > 0) {
    const byMust: string[][] = Array.from({ length: musts }, () => []);
    const mustSpots: number[][] = Array.from({ length: p.mustCount.length }, () => []);
    for (let s = 0; s < p.spots; s++)
      for (let e = p.mustStart[s]!; e < p.mustStart[s + 1]!; e++) mustSpots[p.mustItem[e]!]!.push(s);
    mustSpots.forEach((spots, i) => {
      byMust[p.mustOf[i]!]!.push(`${p.mustCount[i]!} w${i}`);
      bounded.push(`w${i}`);
      rows.push(` d${i}: - w${i} + ${sum(spots.map((s) => `x${s}`))} >= 0`);
    });
    for (let m = 0; m < musts; m++) {
      const need = p.mustNeed[m]!;
      if (need <= 0) continue;
      if (hard) rows.push(constraint(`e${m}`, byMust[m]!, ">=", String(need)));
      else {
        served.push(`m${m}`);
        rows.push(` e${m}: - ${need} m${m} + ${sum(byMust[m]!)} >= 0`);
      }
    }
    const free = [...p.mustNeed].filter((n) => n <= 0).length;
    if (goal.kind === "score" && !hard && goal.mustsMet > free)
      rows.push(constraint("served", served, ">=", String(goal.mustsMet - free)));
    if (goal.kind === "musts") objective.push(...served);
  }

  const spots = Array.from({ length: p.spots }, (_, s) => `x${s}`);
  if (goal.kind === "fewest") objective.push(...spots);
  else rows.push(constraint("units", spots, "<=", String(p.units)));
  for (let i = 0; i < p.spots; i++)
    for (let j = i + 1; j < p.spots; j++)
      if (p.conflict[i * p.spots + j] === 1) rows.push(` s${i}_${j}: x${i} + x${j} <= 1`);

  const lp = [
    goal.kind === "fewest" ? "Minimize" : "Maximize",
    ` value: ${sum(objective)}`,
    "Subject To",
    ...rows,
    "Bounds",
    ...bounded.map((b) => ` 0 <= ${b} <= 1`),
    "Binaries",
    ...[...spots, ...served].map((v) => ` ${v}`),
    "End",
    "",
  ].join("\n");
  return { lp, columns: spots, timeLimitS };
}

/** Spots a solver's answer stands units on. */
export const spotsOf = (answer: MipAnswer): number[] => answer.values.flatMap((v, s) => (v > 0.5 ? [s] : []));
