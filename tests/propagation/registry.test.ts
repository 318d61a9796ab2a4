import { expect, test } from "vitest";
import { evaluateLoss, findModel, LOSS_MODELS, type LossCase, MODELS } from "../../src/propagation/index.ts";

test("every model a case may name has a row that computes it, and no row is named twice", () => {
  for (const id of LOSS_MODELS) expect(findModel(id)?.evaluate, id).toBeTypeOf("function");
  expect(new Set(MODELS.map((m) => m.id)).size).toBe(MODELS.length);
  for (const m of MODELS) if (m.evaluate !== undefined) expect(LOSS_MODELS).toContain(m.id);
});

test("every row says edition, source, validity, how verified and to what tolerance", () => {
  for (const m of MODELS)
    for (const text of [m.title, m.edition, m.source, m.validity.text, m.verified, m.tolerance])
      expect(text, m.id).not.toBe("");
});

test("the models of the design are all there", () => {
  expect(MODELS.map((m) => m.id)).toEqual(
    expect.arrayContaining([
      "p525",
      "p526",
      "p1812",
      "itm",
      "two-ray",
      "p833",
      "p2108",
      "p2109",
      "p618",
      "p838",
      "p839",
      "p676",
      "look-angles",
      "sky-tube",
      "sun",
      "wmm2025",
      "tr36942",
      "f1336",
    ]),
  );
});

test("a model without a loss over a case is refused by name", () => {
  expect(() => evaluateLoss({ model: "p618", frequencyMHz: 12000 } as unknown as LossCase)).toThrow(/p618/);
});

test("what a row cannot do without is asked for by name", () => {
  const bare: Record<string, [Partial<LossCase>, string]> = {
    p525: [{}, "distanceKm"],
    "knife-edge": [{}, "nu"],
    p833: [{}, "vegetationM"],
    p2108: [{ section: "3.1" }, "clutterType"],
    p2109: [{}, "buildingClass"],
    p838: [{}, "rainMmPerH"],
    itm: [{}, "txHeightM"],
    "two-ray": [{ distanceKm: 1 }, "txHeightM"],
    p452: [{}, "distancesKm"],
  };
  for (const [model, [more, where]] of Object.entries(bare))
    try {
      evaluateLoss({ model, frequencyMHz: 1000, ...more } as LossCase);
      throw new Error(`${model} answered`);
    } catch (error) {
      expect((error as { body?: unknown }).body, model).toMatchObject({ code: "model.input", where });
    }
});
