import fc from "fast-check";
import { expect, test } from "vitest";
import { chance } from "../../client/lib/format.ts";
import { band, layoutStrip, MOST_COLUMNS, stripBars, stripSentence, worstPerPoint } from "../../client/lib/strip.ts";
import type { PointResult } from "../../src/plan/outputs/types.ts";
import { makeRank } from "../e2e/mock-answers.ts";

const rank = makeRank();
const base = rank.spots[0]!.points[0]!;
const point = (id: string, more: Partial<PointResult> = {}): PointResult => ({
  ...base,
  id,
  code: id.toUpperCase(),
  name: id,
  ...more,
});

test("class edges belong to the class above: 20, 50, 80, 90, 95 %", () => {
  expect([0, 0.199, 0.2, 0.5, 0.8, 0.9, 0.95, 1].map(band)).toEqual([1, 1, 2, 3, 4, 5, 6, 6]);
  expect(band(null)).toBe(0);
});
test("every row of the ledger has the same columns at the same places", () => {
  const layout = layoutStrip(
    rank.spots.map((s) => s.points),
    298,
  );
  expect(layout.columns.map((c) => c.code)).toEqual([
    "CP",
    "MD",
    "G1",
    "SA",
    "GR",
    "LB",
    "MW",
    "G2",
    "SB",
    "LC",
    "SH",
    "CX",
    "RL",
    "FU",
  ]);
  expect(layout.width).toBeLessThanOrEqual(298);
  for (const s of rank.spots)
    expect(stripBars(layout, s.points).map((b) => b.x)).toEqual(layout.columns.map((c) => c.x));
});
test("groups stand in the order must, should, nice and do not overlap", () => {
  const { groups } = layoutStrip([rank.spots[0]!.points], 298);
  expect(groups.map((g) => g.rung)).toEqual(["must", "should", "nice"]);
  for (let i = 1; i < groups.length; i++) expect(groups[i]!.x).toBeGreaterThan(groups[i - 1]!.x + groups[i - 1]!.width);
});
test("a point with several needs is spoken for by the worst, unknown before known", () => {
  const two = [
    point("a", { need: "cell/talk", probability: 0.99, target: 0.9 }),
    point("a", { need: "cell/video", probability: 0.4, target: 0.9 }),
  ];
  expect(worstPerPoint(two).get("a")?.need).toBe("cell/video");
  expect(worstPerPoint([...two, point("a", { need: "wifi/data", probability: null })]).get("a")?.need).toBe(
    "wifi/data",
  );
});
test("over 24 points: musts and the ten widest spreads stay, the rest is folded", () => {
  const musts = Array.from({ length: 16 }, (_, i) => point(`m${i}`, { rung: "must" }));
  const others = (low: number): PointResult[] =>
    Array.from({ length: 20 }, (_, i) => point(`s${i}`, { rung: "should", probability: i === 7 ? low : 0.9 }));
  const layout = layoutStrip(
    [
      [...musts, ...others(0.9)],
      [...musts, ...others(0.1)],
    ],
    298,
  );
  expect(layout.columns.filter((c) => c.rung === "must")).toHaveLength(16);
  expect(layout.columns.filter((c) => c.rung === "should")).toHaveLength(10);
  expect(layout.columns.some((c) => c.id === "s7")).toBe(true);
  expect(layout.folded).toBe(10);
});
test("whatever the count, columns stay inside the width and keep their order", () => {
  fc.assert(
    fc.property(
      fc.array(fc.constantFrom("must", "should", "nice"), { minLength: 1, maxLength: MOST_COLUMNS }),
      fc.integer({ min: 200, max: 500 }),
      (rungs, width) => {
        const layout = layoutStrip(
          [rungs.map((rung, i) => point(`p${i}`, { rung: rung as PointResult["rung"] }))],
          width,
        );
        expect(layout.columns).toHaveLength(rungs.length);
        expect(layout.width).toBeLessThanOrEqual(width + 1e-6);
        for (let i = 1; i < layout.columns.length; i++)
          expect(layout.columns[i]!.x).toBeGreaterThan(layout.columns[i - 1]!.x);
      },
    ),
  );
});
test("the sentence names what is short and what is unknown", () => {
  const text = stripSentence(
    [
      point("a", { met: true }),
      point("b", { met: false, probability: 0.88 }),
      point("c", { met: null, probability: null }),
    ],
    chance,
  );
  expect(text).toBe("Serves 1 of 3; short: b 88 %; unknown: c");
});
