import type { CoverAnswer, RankAnswer } from "../../src/plan/outputs/types.ts";

const figure = (value: number): string => String(Math.round(value * 10) / 10);

/** One line for the list of runs. */
export function rankSummary(answer: RankAnswer): string {
  const first = answer.spots[0];
  if (first === undefined) return "No ground to stand on";
  const name = `${first.name}, score ${figure(first.score)}`;
  if (answer.feasibleCount === 0) return `No spot serves every must; nearest: ${name}`;
  return `${answer.feasibleCount} of ${answer.spots.length} spots serve every must; first: ${name}`;
}

export function coverSummary(answer: CoverAnswer): string {
  const need = answer.need === null ? answer.service : answer.need;
  const known = answer.knownShare < 1 ? `; ${figure(100 * answer.knownShare)} % of the ground known` : "";
  return `Coverage, ${answer.what}, ${need}${known}`;
}
