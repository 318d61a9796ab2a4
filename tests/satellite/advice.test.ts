import { expect, test } from "vitest";
import { satelliteView, skyAnswer } from "../../src/plan/outputs/index.ts";
import {
  apartPlace,
  cableRun,
  dishSettings,
  roofPlaces,
  skyFromSpot,
  viewFromSpot,
} from "../../src/satellite/index.ts";
import { edgeDistanceM } from "../../src/satellite/roofs.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import { box, makeScene } from "../support/scenes.ts";

const dish = dishSettings({ diameterM: 0.9, eyeHeightM: 1.6 });
const when = { date: "2026-09-12", declinationDeg: 3.9, model: "test" };
const south = [{ id: "97W", longitudeDeg: -97 }];
const place = { lng: -97, lat: 42 };
const see = (scene: Scene, d = dish, options = {}) =>
  viewFromSpot(scene, { place }, d, south, when, { advice: true, ...options })[0]!;
const narrow = () => makeScene({ buildings: [{ id: "silo", ring: box(-6, -22, 6, -14), heightM: 30 }] });

test("the nearest move is clear where it says, and nothing nearer is", () => {
  const scene = narrow();
  const view = see(scene);
  satelliteView.parse(view);
  const move = view.advice.find((a) => a.kind === "move")!;
  expect(move.text).toMatch(/^97W clears if the dish moves \d+ m (east|west|north|south)/);
  const there = viewFromSpot(scene, { place: { lng: move.lng!, lat: move.lat! } }, dish, south, when)[0]!;
  expect(there.clear).toBe(true);
  // Brute force over every metre nearer than a step short of it.
  for (let x = -12; x <= 12; x++)
    for (let y = -12; y <= 12; y++) {
      if (Math.hypot(x, y) > move.distanceM! - 1) continue;
      const at = scene.frame.toLngLat({ xM: x, yM: y });
      expect(viewFromSpot(scene, { place: at }, dish, south, when)[0]!.clear).not.toBe(true);
    }
});

test("the least lift clears, and a tenth less does not", () => {
  // A wide wall: no move within reach, but a lift.
  const scene = makeScene({ buildings: [{ id: "wall", ring: box(-95, -12, 95, -8), heightM: 14 }] });
  const lift = see(scene).advice.find((a) => a.kind === "lift")!;
  const at = (liftM: number) => viewFromSpot(scene, { place, eyeHeightM: 1.6 + liftM }, dish, south, when)[0]!.clear;
  expect(at(lift.liftM! + 1e-6)).toBe(true);
  expect(at(lift.liftM! - 0.15)).toBe(false);
});

test("a roof is offered within cable reach, inside its setback, with the cautions", () => {
  const scene = makeScene({ buildings: [{ id: "hall", ring: box(-95, -32, 95, -10), heightM: 12 }] });
  const roof = see(scene).advice.find((a) => a.kind === "roof")!;
  expect(roof.buildingId).toBe("hall");
  expect(roof.text).toContain("structural");
  const { xM, yM } = scene.frame.toXY({ lng: roof.lng!, lat: roof.lat! });
  expect(edgeDistanceM(scene.buildings[0]!, xM, yM)).toBeGreaterThanOrEqual(4.6);
  const up = viewFromSpot(scene, { place: { lng: roof.lng!, lat: roof.lat! }, onBuilding: "hall" }, dish, south, when);
  expect(up[0]!.clear).toBe(true);
  // Cable: 12 m up and at least 14.6 m along.
  const short = dishSettings({ diameterM: 0.9, eyeHeightM: 1.6, cableM: 25 });
  expect(see(scene, short).advice.some((a) => a.kind === "roof")).toBe(false);
});

test("trees: opens with the leaves off is told apart, trimming is never assumed", () => {
  const scene = makeScene({ canopy: (_x, y) => (y < -10 && y > -90 ? 22 : 0) });
  const view = see(scene);
  expect(view.opensLeafOff).toBe(true);
  expect(view.advice.some((a) => a.kind === "leaf-off")).toBe(true);
  expect(view.advice.map((a) => a.text).join(" ")).not.toMatch(/trim|cut/);
});

test("nothing helps: said so; below the horizon: said so", () => {
  const scene = makeScene({ buildings: [{ id: "wall", ring: box(-95, -60, 95, -3), heightM: 90 }] });
  const view = see(scene, dish, { searchM: 5 });
  expect(view.advice).toHaveLength(1);
  expect(view.advice[0]!.kind).toBe("none");
  const far = viewFromSpot(scene, { place }, dish, [{ id: "x", longitudeDeg: 90 }], when, { advice: true })[0]!;
  expect(far.advice[0]!.text).toContain("below the horizon");
});

test("a mask of where one may stand is kept to", () => {
  const view = see(narrow(), dish, { mayStand: (at: { xM: number }) => at.xM < 0 });
  expect(view.advice.find((a) => a.kind === "move")!.eastM!).toBeLessThan(0);
});

test("apart: at the unit where that is clear, else nearby within the cable, else nowhere", () => {
  expect(apartPlace(makeScene(), { place }, dish, south[0]!, when)).toMatchObject({ distanceM: 0, ...place });
  const near = apartPlace(narrow(), { place }, dish, south[0]!, when)!;
  expect(near.distanceM).toBeGreaterThan(3);
  expect(near.distanceM).toBeLessThanOrEqual(40);
  const walled = makeScene({ buildings: [{ id: "wall", ring: box(-95, -60, 95, -3), heightM: 90 }] });
  expect(apartPlace(walled, { place }, { ...dish, cableM: 6 }, south[0]!, when)).toBeNull();
});

test("a cable goes round a building by its corners: closed form", () => {
  const scene = makeScene({ buildings: [{ id: "b", ring: box(-10, 5, 10, 15), heightM: 8 }] });
  const run = cableRun(scene, { xM: 0, yM: 0 }, { xM: 0, yM: 20 }, [true], -1)!;
  // Over two corners pushed out by half a metre along the diagonal.
  const out = 0.5 / Math.SQRT2;
  const side = 10 + out;
  const expected = 2 * Math.hypot(side, 5 - out) + 10 + 2 * out;
  expect(run.lengthM).toBeCloseTo(expected, 6);
  expect(run.line).toHaveLength(4);
  const free = cableRun(scene, { xM: -30, yM: 0 }, { xM: -30, yM: 20 }, [true], -1)!;
  expect(free.lengthM).toBeCloseTo(20, 9);
  expect(roofPlaces.length).toBeGreaterThan(0);
});

test("the sky answer fits its contract and holds skyline and arc", () => {
  const scene = makeScene({
    canopy: (x, y) => (x > 20 && x < 30 && Math.abs(y) < 10 ? 12 : 0),
    buildings: [{ id: "hall", ring: box(-10, -30, 10, -20), heightM: 20 }],
  });
  const sky = skyAnswer.parse(skyFromSpot(scene, { place }, dish, south, when));
  expect(sky.horizon).toHaveLength(720);
  const due = sky.horizon[360]!;
  expect(due).toMatchObject({ kind: "building", id: "hall", azimuthDeg: 180 });
  expect(due.elevationDeg!).toBeCloseTo((Math.atan((20 - 1.6) / 20) * 180) / Math.PI, 2);
  const east = sky.horizon[180]!;
  expect(east.kind).toBe("tree");
  expect(east.treeDeg!).toBeCloseTo((Math.atan((12 - 1.6) / 20.5) * 180) / Math.PI, 0);
  expect(sky.arc.length).toBeGreaterThan(100);
  expect(sky.satellites[0]!.advice.length).toBeGreaterThan(0);
});
