import { expect, test } from "vitest";
import { planChanges } from "../../client/lib/plan-diff.ts";
import type { Plan } from "../../src/plan/types.ts";
import { makePlan } from "../e2e/mock-answers.ts";

const edit = (change: (p: Plan) => void): Plan => {
  const p = structuredClone(makePlan());
  change(p);
  return p;
};
const points = (p: Plan) => (p.points as Exclude<Plan["points"], string>).features;

test("the same plan differs in nothing, whatever the order of its keys", () => {
  const p = makePlan();
  const turned = Object.fromEntries(Object.entries(p).reverse()) as unknown as Plan;
  expect(planChanges(p, turned)).toEqual([]);
});
test("added, taken away, moved, changed: each in a sentence with old and new", () => {
  const before = makePlan();
  const after = edit((p) => {
    const all = points(p);
    all[0]!.properties.targetPct = 90;
    all[1]!.geometry = { type: "Point", coordinates: [-98.49, 41.64] };
    all.splice(2, 1);
    p.unit.tipHeightM = 8;
    p.season = "leaf-off";
  });
  expect(planChanges(before, after)).toEqual([
    "Command post: target 95 → 90",
    "Moved Medical tent",
    "Took away point Gate 1",
    "The unit: tip height 6 → 8",
    "Season leaf-on → leaf-off",
  ]);
  expect(planChanges(after, before)).toContain("Added point Gate 1");
});
