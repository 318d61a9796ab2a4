import { expect, test } from "vitest";
import { comparison, pairs } from "../../client/lib/compare.ts";
import { makeRank } from "../e2e/mock-answers.ts";

const { spots } = makeRank();
const [one, two] = [spots[0]!, spots[1]!];

test("rows go must, should, nice, and the difference is that of the shown per cents", () => {
  const rows = pairs(one, two);
  expect(rows).toHaveLength(14);
  for (const r of rows)
    expect(r.differencePct).toBe(Math.round(r.a.probability! * 100) - Math.round(r.b.probability! * 100));
  const order = { must: 0, should: 1, nice: 2 };
  for (let i = 1; i < rows.length; i++)
    expect(order[rows[i]!.a.rung]).toBeGreaterThanOrEqual(order[rows[i - 1]!.a.rung]);
});
test("an unknown chance gives no difference", () => {
  const blind = { ...two, points: two.points.map((p) => ({ ...p, probability: null, met: null })) };
  expect(pairs(one, blind).every((r) => r.differencePct === null)).toBe(true);
});
test("the sentence says who is ahead by which rung", () => {
  expect(comparison(one, { ...two, mustsShort: 2 }).strong).toBe("1 is ahead on musts: 0 short against 2");
  expect(comparison({ ...one, score: 98 }, { ...two, score: 90, mustsShort: one.mustsShort }).strong).toBe(
    "1 is ahead on score, 98 against 90",
  );
  expect(comparison(two, one)).toEqual(comparison(one, two));
});
