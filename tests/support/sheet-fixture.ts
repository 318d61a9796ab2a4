import { geodesicDirect } from "../../src/geodesy/index.ts";
import { localExecutor, makeScenario, rank, whenOf } from "../../src/placement/index.ts";
import type { RankAnswer, SkyAnswer } from "../../src/plan/outputs/types.ts";
import type { LoadedPlan, Plan } from "../../src/plan/types.ts";
import { dishSettings, skyFromSpot } from "../../src/satellite/index.ts";
import { buildScene } from "../../src/terrain/build-scene.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import { smallPlan } from "./plan-fixture.ts";
import { buildings, fieldRaster, loadedPlan, near, square } from "./scene-fixture.ts";

export interface SheetCase {
  loaded: LoadedPlan;
  scene: Scene;
  answer: RankAnswer;
  sky: Map<string, SkyAnswer>;
}

/** A line of exactly 100 m along the ellipsoid, from a place along a bearing. */
export const hundredMetres = (from: [number, number], azimuthDeg: number): [number, number][] => {
  const end = geodesicDirect({ lng: from[0], lat: from[1] }, azimuthDeg, 100);
  return [from, [end.lng, end.lat]];
};

/** An invented yard with points all round, two lines of 100 m, a hall in the way, a dish: ranked for real. */
export function sheetPlan(): Plan {
  const plan = smallPlan();
  const point = (id: string, east: number, north: number, more: object) => ({
    type: "Feature",
    geometry: { type: "Point", coordinates: near(east, north) },
    properties: { id, rung: "must", needs: ["cell/talk"], ...more },
  });
  return {
    ...plan,
    name: "Łąka yard, trial",
    date: "2026-09-12",
    terrain: { ground: [{ file: "ground.tif", date: "2023", verticalDatum: "navd88" }], cellM: 4 },
    unit: {
      ...plan.unit,
      headingDeg: 90,
      fuelL: 24,
      burnLPerH: 0.5,
      dish: { diameterM: 0.9, eyeHeightM: 1.6, marginDeg: 5, treeMarginDeg: 10, minElevationDeg: 10 },
    },
    satellites: [{ id: "w101", name: "101° W", longitudeDeg: -101, role: "primary" }],
    points: {
      type: "FeatureCollection",
      features: [
        point("cp", 40, 180, { code: "CP", name: "Command post" }),
        point("barn", -260, -60, { name: "Barn & <loft>", rung: "should", place: "indoor-efficient" }),
        point("gate", 330, 90, { code: "G1", name: "=Gate 1", rung: "nice" }),
        {
          type: "Feature",
          geometry: square(150, -220, 90),
          properties: { id: "sa", code: "SA", name: "Staging A", rung: "should", needs: ["cell/talk"], tileM: 40 },
        },
      ],
    },
    parking: {
      type: "FeatureCollection",
      features: [
        { type: "Feature", geometry: square(0, 0, 120), properties: { id: "yard", name: "Yard", waysOut: 1 } },
        { type: "Feature", geometry: square(-160, 150, 60), properties: { id: "field", name: "Field" } },
      ],
    },
    hazards: {
      type: "FeatureCollection",
      features: [
        {
          type: "Feature",
          geometry: { type: "LineString", coordinates: hundredMetres(near(120, -40), 0) },
          properties: { id: "line", name: "Side line", kind: "power-line", voltageKv: 12 },
        },
        {
          type: "Feature",
          geometry: { type: "LineString", coordinates: hundredMetres(near(-60, 110), 90) },
          properties: { id: "top", name: "Top line", kind: "power-line" },
        },
      ],
    },
    backhaul: { order: ["satellite"] },
    consents: [
      { who: "landowner", name: "J. Marsh", state: "given", conditions: "Gate shut at night." },
      { who: "fire", state: "asked" },
    ],
    search: { shortlist: 5, separationM: 30, draws: 40, seed: 1 },
  } as unknown as Plan;
}

/** Ranks a plan over gentle invented ground with one hall, and looks at the sky of every spot with a role. */
export async function sheetCase(plan: Plan = sheetPlan()): Promise<SheetCase> {
  const loaded = loadedPlan(
    plan,
    buildings({ east: -140, north: -20, side: 30, properties: { id: "hall", name: "Hall", heightM: 14 } }),
  );
  loaded.hashes = { "yard.plan.json": "ab".repeat(32), "ground.tif": "cd".repeat(32) };
  const ground = fieldRaster((e, n) => 430 + 6 * Math.sin(e / 180) + n / 90);
  const scene = await buildScene(loaded, { ground: [ground], surface: [], canopy: [], landCover: [] });
  const s = makeScenario(loaded, scene);
  const when = whenOf(s, "2026-09-12");
  const { answer } = await rank(s, {
    executor: localExecutor(s),
    when,
    provenance: {
      version: "0.0.0-test",
      date: when.date,
      seed: 1,
      files: loaded.hashes,
      models: [
        { id: "p526", edition: "ITU-R P.526-15" },
        { id: "p1812", edition: "ITU-R P.1812-6" },
      ],
    },
    hooks: {},
  });
  const sky = new Map<string, SkyAnswer>();
  if (plan.unit.dish)
    for (const spot of answer.spots)
      if (spot.role !== "none")
        sky.set(
          spot.id,
          skyFromSpot(scene, { place: spot }, dishSettings(plan.unit.dish), plan.satellites ?? [], when),
        );
  return { loaded, scene, answer, sky };
}
