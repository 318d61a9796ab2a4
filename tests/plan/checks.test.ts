import { expect, test } from "vitest";
import { HardstandError } from "../../src/errors/index.ts";
import { checkCoordinates, checkPlan } from "../../src/plan/checks/index.ts";
import { firstCrossing } from "../../src/plan/checks/rings.ts";
import { type CollectionOf, parseCollection, withIds } from "../../src/plan/collection.ts";
import type { LoadedPlan, Plan } from "../../src/plan/types.ts";
import { put, smallPlan } from "../support/plan-fixture.ts";

const none = { type: "FeatureCollection" as const, features: [] };
function loaded(plan: Plan, buildings: CollectionOf<"buildings"> | null = null): LoadedPlan {
  return {
    plan,
    points: withIds("points", plan.points as CollectionOf<"points">),
    parking: withIds("parking", plan.parking as CollectionOf<"parking">),
    hazards: withIds("hazards", (plan.hazards ?? none) as CollectionOf<"hazards">),
    drops: none,
    donors: none,
    buildings,
    hashes: {},
    warnings: [],
  };
}
function bodyOf(run: () => unknown) {
  try {
    run();
  } catch (thrown) {
    if (thrown instanceof HardstandError) return thrown.body;
    throw thrown;
  }
  throw new Error("nothing was thrown");
}
const bad = (path: (string | number)[], value: unknown) =>
  bodyOf(() => checkPlan(loaded(put(smallPlan(), path, value)), "p.json"));

const ring = (...corners: [number, number][]) => [corners];
const yard = ["parking", "features", 0, "geometry", "coordinates"];
const place = ["points", "features", 1, "geometry", "coordinates"];
const BOX = [[-98.6, 41.5, -98.4, 41.7]] as const;

test("a right plan passes without warnings", () => {
  expect(checkPlan(loaded(smallPlan()), "p.json")).toEqual([]);
  checkCoordinates(loaded(smallPlan()), "p.json", BOX);
});

test("ids used twice are named with both places", () => {
  const body = bad(["points", "features", 1, "properties", "id"], "a");
  expect(body.code).toBe("plan.duplicate-id");
  expect(body.where).toBe("p.json: points.features[1] (Gate)");
  expect(body.hint).toContain("points.features[0]");
  const plan = smallPlan();
  plan.terminals.push({ id: "phone", powerDbm: 31 });
  expect(bodyOf(() => checkPlan(loaded(plan), "p.json")).where).toBe("p.json: terminals[1]");
  const twice = smallPlan();
  twice.unit.services[0]!.needs.push({ id: "talk", rsrpDbm: -100 } as never);
  expect(bodyOf(() => checkPlan(loaded(twice), "p.json")).where).toBe("p.json: unit.services[0].needs[1]");
});

test.each([
  [["points", "features", 1, "properties", "needs"], ["cell/tlk"], "features[1].properties.needs[0]", '"cell/talk"'],
  [["points", "features", 1, "properties", "terminal"], "phnoe", "features[1].properties.terminal", '"phone"'],
  [["points", "features", 1, "properties", "onRoof"], "hall", "features[1].properties.onRoof", "there is none"],
  [["points", "features", 1, "properties", "periods"], ["d1"], "features[1].properties.periods[0]", "there is none"],
  [["objectives"], [{ area: "zz", need: "cell/talk", sharePct: 95 }], "objectives[0].area", "a, b"],
  [["objectives"], [{ area: "a", need: "wifi/data", sharePct: 95 }], "objectives[0].need", "cell/talk"],
])("a name that leads nowhere: %j = %j", (path, value, where, hint) => {
  const body = bad(path as (string | number)[], value);
  expect(body.code).toBe("plan.unknown-reference");
  expect(body.where).toContain(where);
  expect(body.hint).toContain(hint);
});

test("a way back that the plan does not have is a warning", () => {
  const plan = put(smallPlan(), ["backhaul"], { order: ["satellite", "donor", "ethernet"] });
  expect(checkPlan(loaded(plan), "p.json").map((w) => w.code)).toEqual(Array(3).fill("plan.backhaul-empty"));
});

test("coordinates beyond the pole are called swapped, grid metres far", () => {
  const swapped = bad(place, [41.6, -98.5]);
  expect(swapped.code).toBe("plan.coordinates-swapped");
  expect(swapped.received).toBe("[41.6, -98.5]");
  expect(bad(place, [541_830, 4_609_710]).code).toBe("plan.coordinates-far");
  expect(bad(place, [1e300, 0]).code).toBe("plan.coordinates-far");
  expect(bad(place, [-190, 41]).code).toBe("plan.coordinates-far");
});

test("a lost minus or a swap is seen against the rest of the plan, without rasters", () => {
  const lost = bad(place, [98.498, 41.601]);
  expect(lost.code).toBe("plan.coordinates-far");
  expect(lost.hint).toContain("minus of a western longitude");
  expect(lost.message).toMatch(/Gate is \d+ km from the rest/);
  expect(bad(place, [-98.5, -41.6]).hint).toContain("sign of the latitude");
});

test("swapped, lost minus, far: against the rasters' box", () => {
  const whole = (mend: (p: number[]) => number[]) => {
    const plan = smallPlan();
    const points = plan.points as CollectionOf<"points">;
    for (const f of points.features) f.geometry.coordinates = mend(f.geometry.coordinates as number[]);
    return bodyOf(() => checkCoordinates(loaded(plan), "p.json", BOX));
  };
  expect(whole(([x, y]) => [-x!, y!])).toMatchObject({ code: "plan.coordinates-far", hint: /minus/ });
  expect(whole(([x, y]) => [x!, -y!])).toMatchObject({ code: "plan.coordinates-far", hint: /latitude/ });
  expect(whole(([, y]) => [y!, 82])).toMatchObject({ code: "plan.coordinates-far" });
  // A place that is valid either way round: 41.6 N 8.5 W written as [41.6, -8.5].
  const plan = smallPlan();
  const points = plan.points as CollectionOf<"points">;
  for (const f of points.features) f.geometry.coordinates = [41.6, -8.5];
  const body = bodyOf(() => checkCoordinates(loaded(plan), "p.json", [[-8.6, 41.5, -8.4, 41.7]]));
  expect(body.code).toBe("plan.coordinates-swapped");
});

test("a plan across the date line is one place", () => {
  const plan = smallPlan();
  put(plan, ["points", "features", 0, "geometry", "coordinates"], [179.999, 0.1]);
  put(plan, place, [-179.999, 0.1]);
  put(
    plan,
    [...yard, 0],
    [
      [179.99, 0.1],
      [179.995, 0.1],
      [179.995, 0.2],
      [179.99, 0.1],
    ],
  );
  checkPlan(loaded(plan), "p.json");
  checkCoordinates(loaded(plan), "p.json", [[179.9, 0, 180.1, 0.3]]);
});

test.each([
  ["crosses itself", ring([0, 0], [1, 1], [1, 0], [0, 1], [0, 0])],
  ["not closed", ring([0, 0], [1, 0], [1, 1], [0, 1])],
  ["encloses no ground", ring([0, 0], [1, 1], [2, 2], [0, 0])],
  ["crosses itself", ring([0, 0], [2, 0], [1, 0], [1, 1], [0, 0])],
  [
    "rings of the polygon cross",
    [...ring([0, 0], [4, 0], [4, 4], [0, 4], [0, 0]), ...ring([1, 1], [5, 1], [5, 2], [1, 2], [1, 1])],
  ],
])("a parking polygon that %s is refused", (what, rings) => {
  const moved = rings.map((r) => r.map(([x, y]) => [-98.5 + x * 1e-4, 41.6 + y * 1e-4]));
  const body = bad(yard, moved);
  expect(body.code).toBe("plan.geometry-invalid");
  expect(body.message).toContain(what);
  expect(body.where).toContain("parking.features[0].geometry.coordinates[");
  expect(body.where).toContain("(Yard)");
});

test("a hole, a touch at a corner and a spike-free star are no crossing", () => {
  const square = ring([0, 0], [4, 0], [4, 4], [0, 4], [0, 0])[0]!;
  const hole = ring([1, 1], [2, 1], [2, 2], [1, 2], [1, 1])[0]!;
  const touching = ring([0, 0], [2, 1], [1, 2], [0, 0])[0]!;
  const star = Array.from({ length: 11 }, (_, i) => {
    const r = i % 2 === 0 ? 2 : 1;
    return [r * Math.cos((i % 10) * 0.2 * Math.PI), r * Math.sin((i % 10) * 0.2 * Math.PI)];
  });
  expect(firstCrossing([square, hole])).toBeNull();
  expect(firstCrossing([square, touching])).toBeNull();
  expect(firstCrossing([star])).toBeNull();
});

test("a pentagram is found whatever its first corner", () => {
  const corners = Array.from({ length: 5 }, (_, i) => [Math.cos(i * 0.8 * Math.PI), Math.sin(i * 0.8 * Math.PI)]);
  for (let s = 0; s < 5; s++) {
    const turned = [...corners.slice(s), ...corners.slice(0, s)];
    expect(firstCrossing([[...turned, turned[0]!]])).not.toBeNull();
  }
});

test("no parking, no points, too many", () => {
  expect(bad(["parking", "features"], []).code).toBe("plan.no-parking");
  expect(bad(["points", "features"], []).where).toBe("p.json: points");
  const plan = smallPlan();
  const points = plan.points as CollectionOf<"points">;
  const one = points.features[0]!;
  points.features = Array.from({ length: 2001 }, (_, i) => ({
    ...one,
    properties: { ...one.properties, id: `p${i}` },
  }));
  expect(bodyOf(() => checkPlan(loaded(plan), "p.json")).code).toBe("plan.too-large");
});

test("a faulty building outline warns with the id, since outlines come by the thousand", () => {
  const text = JSON.stringify({
    type: "FeatureCollection",
    crs: { type: "name", properties: { name: "urn:ogc:def:crs:OGC:1.3:CRS84" } },
    features: [
      {
        type: "Feature",
        geometry: {
          type: "Polygon",
          coordinates: ring([-98.5, 41.6], [-98.499, 41.601], [-98.499, 41.6], [-98.5, 41.601], [-98.5, 41.6]),
        },
        properties: { id: "shed", heightM: 4, colour: "red" },
      },
    ],
  });
  const warnings = checkPlan(loaded(smallPlan(), parseCollection("buildings", text, "b.geojson")), "p.json");
  expect(warnings).toMatchObject([{ code: "plan.building-outline", text: /shed.*crosses itself/ }]);
});

test("GeoJSON files: another coordinate system and other types are refused by name", () => {
  const utm = {
    type: "FeatureCollection",
    crs: { type: "name", properties: { name: "urn:ogc:def:crs:EPSG::32614" } },
    features: [],
  };
  expect(bodyOf(() => parseCollection("buildings", JSON.stringify(utm), "b.geojson"))).toMatchObject({
    code: "file.not-geojson",
    received: "urn:ogc:def:crs:EPSG::32614",
  });
  expect(bodyOf(() => parseCollection("parking", '{"type":"Feature"}', "b.geojson")).received).toBe("Feature");
});

test("features without an id get one from kind and place, never one in use", () => {
  const features = [{ properties: {} }, { properties: { id: "hazard-1" } }, { id: 7, properties: {} }];
  const named = withIds("hazards", { type: "FeatureCollection", features } as never);
  expect(named.features.map((f) => f.properties.id)).toEqual(["hazard-1a", "hazard-1", "7"]);
});
