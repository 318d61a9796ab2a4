import { expect, test } from "vitest";
import { HardstandError } from "../../src/errors/index.ts";
import { evaluateLoss, type LossCase } from "../../src/propagation/index.ts";

function refusal(input: unknown): {
  code: string;
  where: string;
  received: string | null;
  hint: string;
  message: string;
} {
  try {
    evaluateLoss(input as LossCase);
  } catch (error) {
    expect(error).toBeInstanceOf(HardstandError);
    return (error as HardstandError).body;
  }
  throw new Error("the case was answered");
}

const good = {
  model: "p526",
  frequencyMHz: 760,
  distancesKm: [0, 1, 2],
  heightsM: [0, 10, 0],
  txHeightM: 5,
  rxHeightM: 2,
};

test("a good case answers", () => {
  expect(evaluateLoss(good as LossCase).lossDb).toBeGreaterThan(90);
});

test.each([
  ["no model", { ...good, model: undefined }, "model.unknown", "model"],
  ["a model nobody knows", { ...good, model: "p9999" }, "model.unknown", "model"],
  ["nothing at all", null, "model.unknown", "model"],
  ["a field nobody knows", { ...good, frequencyGHz: 1 }, "model.input", "frequencyGHz"],
  ["no frequency", { ...good, frequencyMHz: undefined }, "model.input", "frequencyMHz"],
  ["a frequency that is not a number", { ...good, frequencyMHz: "760" }, "model.input", "frequencyMHz"],
  ["a frequency that is NaN", { ...good, frequencyMHz: Number.NaN }, "model.input", "frequencyMHz"],
  ["no profile", { ...good, distancesKm: undefined }, "model.input", "distancesKm"],
  ["no heights", { ...good, heightsM: undefined }, "model.input", "heightsM"],
  ["no antenna height", { ...good, rxHeightM: undefined }, "model.input", "rxHeightM"],
  ["lengths that differ", { ...good, heightsM: [0, 0] }, "model.input", "heightsM"],
  ["clutter that differs in length", { ...good, clutterM: [0] }, "model.input", "clutterM"],
  ["distances that do not start at 0", { ...good, distancesKm: [1, 2, 3] }, "model.input", "distancesKm[0]"],
  ["distances that fall", { ...good, distancesKm: [0, 2, 1] }, "model.input", "distancesKm[2]"],
  ["two points at one distance", { ...good, distancesKm: [0, 1, 1] }, "model.input", "distancesKm[2]"],
  ["a void height", { ...good, heightsM: [0, Number.NaN, 0] }, "model.input", "heightsM[1]"],
  ["zones that differ in length", { ...good, zones: ["sea"] }, "model.input", "zones"],
  ["a zone nobody knows", { ...good, zones: ["sea", "lake", "sea"] }, "model.input", "zones[1]"],
  ["a polarization nobody knows", { ...good, polarization: "slant" }, "model.input", "polarization"],
])("%s is refused with place and hint", (_, input, code, where) => {
  const body = refusal(input);
  expect(body.code).toBe(code);
  expect(body.where).toBe(where);
  expect(body.hint).not.toBe("");
  expect(body.message).not.toMatch(/invalid|failed|oops|please/i);
});

test("nearer than the far field the loss is shown as 0 dB, with a warning", () => {
  const { lossDb, warnings } = evaluateLoss({ model: "p525", frequencyMHz: 1, distanceKm: 0.001 });
  expect(lossDb).toBe(0);
  expect(warnings.map((w) => w.code)).toEqual(["p525.near-field", "loss.below-zero"]);
});

test.each(["p526", "p1812", "p452"] as const)(
  "%s: every part is a finite number at the edges of what is allowed",
  (model) => {
    const edges: Partial<LossCase>[] = [
      { distancesKm: [0, 2], heightsM: [0, 0] },
      { distancesKm: [0, 0.001, 0.002] },
      { distancesKm: [0, 5000, 10_000] },
      { txHeightM: 0, rxHeightM: 0 },
      { txHeightM: 20_000, rxHeightM: 20_000 },
      { frequencyMHz: 1 },
      { frequencyMHz: 1_000_000 },
      { timePct: 0.001 },
      { timePct: 99.999 },
      { zones: ["sea", "sea", "sea"] },
      { zones: ["sea", "inland", "coastal"], txLngLat: [179.9, 89], rxLngLat: [-179.9, 89] },
      { heightsM: [-400, 9000, -400], clutterM: [0, 1000, 0] },
      { deltaN: -200 },
      { deltaN: 156.9 },
    ];
    for (const edge of edges) {
      const { lossDb, parts } = evaluateLoss({ ...good, model, ...edge } as LossCase);
      expect(lossDb, JSON.stringify(edge)).toBeGreaterThanOrEqual(0);
      for (const [name, value] of Object.entries(parts))
        expect(Number.isFinite(value), `${name} at ${JSON.stringify(edge)}`).toBe(true);
    }
  },
);
