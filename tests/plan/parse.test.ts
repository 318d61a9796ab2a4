import fc from "fast-check";
import { expect, test } from "vitest";
import { HardstandError } from "../../src/errors/index.ts";
import { parsePlan, planJsonSchema, planProblems, serializePlan } from "../../src/plan/parse.ts";
import { put, smallPlan } from "../support/plan-fixture.ts";

function bodyOf(run: () => unknown) {
  try {
    run();
  } catch (thrown) {
    if (thrown instanceof HardstandError) return thrown.body;
    throw thrown;
  }
  throw new Error("nothing was thrown");
}
const parse = (plan: unknown) => parsePlan(JSON.stringify(plan), "small.plan.json");
const bad = (path: (string | number)[], value: unknown) => bodyOf(() => parse(put(smallPlan(), path, value)));

test("a right plan comes back as written, also through serializePlan", () => {
  expect(parse(smallPlan())).toEqual(smallPlan());
  expect(parsePlan(serializePlan(smallPlan()), "x")).toEqual(smallPlan());
});

test("a value out of range: path, value and what is allowed", () => {
  const body = bad(["unit", "services", 0, "txPowerDbm"], 5000);
  expect(body.code).toBe("plan.invalid");
  expect(body.where).toBe("small.plan.json: unit.services[0].txPowerDbm");
  expect(body.received).toBe("5000");
  expect(body.hint).toContain("allowed: -30 to 60 dBm");
  expect(body.hint).toContain("if that is milliwatts, write 36.99");
});

test("a frequency in GHz is recognised", () => {
  const body = bad(["unit", "services", 0, "downlinkMHz"], 0.763);
  expect(body.where).toBe("small.plan.json: unit.services[0].downlinkMHz");
  expect(body.hint).toContain("if that is GHz, write 763");
});

test("a height in feet is named with the metres to write", () => {
  const plan = put(smallPlan(), ["unit", "tipHeightFt"], 20);
  const body = bodyOf(() => parse(put(plan, ["unit", "tipHeightM"], undefined)));
  expect(body.code).toBe("plan.unknown-field");
  expect(body.where).toBe("small.plan.json: unit.tipHeightFt");
  expect(body.received).toBe("20");
  expect(body.hint).toContain('write "tipHeightM": 6.096 (from 20 feet)');
  expect(body.hint).toContain("unit.tipHeightM");
});

test.each([
  [["unit", "tipHeigthM"], 6, "tipHeightM"],
  [["unit", "tipHeight"], 6, "tipHeightM"],
  [["unit", "services", 0, "txPowerW"], 4, '"txPowerDbm": 36.02 (from 4 watts)'],
  [["unit", "services", 0, "downLinkMHz"], 763, "downlinkMHz"],
  [["unit", "services", 0, "needs", 0, "rsrp"], -110, "rsrpDbm"],
  [["points", "features", 0, "properties", "terminl"], "phone", "terminal"],
  [["points", "features", 0, "geometry", "coords"], [], "coordinates"],
  [["terrain", "surfaces"], [], "surface"],
  [["serch"], {}, "search"],
])("an unknown field %j names the nearest known one", (path, value, near) => {
  const body = bad(path as (string | number)[], value);
  expect(body.code).toBe("plan.unknown-field");
  expect(body.hint).toContain(near);
});

test.each([
  ["{", "plan.not-json", "line 1"],
  ["", "plan.not-json", ""],
  ["<html></html>", "plan.not-json", ""],
  ["[1,2]", "plan.invalid", ""],
  ["null", "plan.invalid", ""],
  ['{"format":"other"}', "plan.invalid", "format"],
  ['{"format":"hardstand-plan"}', "plan.version", "version"],
  ['{"format":"hardstand-plan","version":7}', "plan.version", "version"],
  [`${"[".repeat(100)}${"]".repeat(100)}`, "plan.too-large", ""],
  [`${'{"a":'.repeat(50_000)}1${"}".repeat(50_000)}`, "plan.too-large", ""],
  [JSON.stringify(Array.from({ length: 4_000_001 }, () => 0)), "plan.too-large", ""],
])("text that is no plan: %.30s", (text, code, where) => {
  const body = bodyOf(() => parsePlan(text, "p.plan.json"));
  expect(body.code).toBe(code);
  expect(body.where).toContain("p.plan.json");
  expect(body.where).toContain(where);
});

test.each([
  [["unit", "tipHeightM"], undefined, "unit.tipHeightM", "missing"],
  [["unit", "tipHeightM"], "6 m", "unit.tipHeightM", "must be a number, m"],
  [["unit", "services", 0, "kind"], "lora", "unit.services[0].kind", ""],
  [
    ["points", "features", 0, "properties", "rung"],
    "maybe",
    "points.features[0].properties.rung",
    "must, should or nice",
  ],
  [["points", "features", 0, "geometry", "type"], "MultiPoint", "points.features[0].geometry.type", ""],
  [
    ["points", "features", 0, "properties", "needs"],
    ["talk"],
    "points.features[0].properties.needs[0]",
    "service/need",
  ],
  [
    ["points", "features", 0, "geometry", "coordinates"],
    [1],
    "points.features[0].geometry.coordinates",
    "longitude and latitude",
  ],
  [
    ["points", "features", 0, "geometry", "coordinates", 0],
    "x",
    "points.features[0].geometry.coordinates[0]",
    "a number is expected",
  ],
  [["terrain"], {}, "terrain.ground", "at least one ground or surface raster"],
  [["parking"], 3, "parking", ""],
  [["search"], { unitCount: 0 }, "search.unitCount", ""],
])("%j = %j is refused at its place", (path, value, where, message) => {
  const body = bad(path as (string | number)[], value);
  expect(body.code).toBe("plan.invalid");
  expect(body.where).toBe(`small.plan.json: ${where}`);
  expect(body.message).toContain(message);
});

test("no message says invalid, failed, oops or please", () => {
  const words = /invalid|failed|oops|please/i;
  for (const path of [
    ["unit"],
    ["points"],
    ["terrain"],
    ["terminals", 0],
    ["unit", "services", 0],
    ["date"],
    ["season"],
  ])
    for (const value of [undefined, null, 3, "x", [], {}, true]) {
      const plan = put(smallPlan(), path, value);
      for (const p of planProblems(plan)) expect(`${p.message} ${p.hint}`).not.toMatch(words);
    }
});

test("whatever stands in the document, only errors of ours come out", () => {
  const keys = ["unit", "points", "parking", "terrain", "services", "features", "__proto__", "constructor", "toString"];
  fc.assert(
    fc.property(
      fc.constantFrom(...keys),
      fc.jsonValue({ maxDepth: 4 }),
      fc.constantFrom(...keys),
      fc.jsonValue(),
      (a, va, b, vb) => {
        const text = JSON.stringify({ ...smallPlan(), x: 0 }).replace(
          '"x":0',
          () => `${JSON.stringify(a)}:${JSON.stringify(va)},${JSON.stringify(b)}:${JSON.stringify(vb)}`,
        );
        try {
          parsePlan(text, "p");
        } catch (thrown) {
          expect(thrown).toBeInstanceOf(HardstandError);
        }
      },
    ),
    { numRuns: 500, seed: 20260912 },
  );
});

test("the JSON Schema is published with every top-level field, closed to others", () => {
  const schema = planJsonSchema() as { properties: Record<string, unknown>; additionalProperties: boolean };
  expect(schema.additionalProperties).toBe(false);
  expect(Object.keys(schema.properties)).toEqual(
    expect.arrayContaining(["format", "version", "terrain", "unit", "terminals", "points", "parking", "search"]),
  );
  expect(JSON.stringify(schema)).toContain('"unit":"dBm"');
});
