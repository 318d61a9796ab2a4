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
