import { expect, test } from "vitest";
import { satelliteView } from "../../src/plan/outputs/index.ts";
import { dishSettings, lookAngles, viewFromSpot } from "../../src/satellite/index.ts";
import { box, makeScene } from "../support/scenes.ts";

const rad = Math.PI / 180;
const dish = dishSettings({ diameterM: 0.9, eyeHeightM: 1.6 });
const when = { date: "2026-09-12", declinationDeg: 3.9, model: "test" };
const south = [{ id: "s", longitudeDeg: -97 }];
const origin = { lng: -97, lat: 42 };
const el = lookAngles({ ...origin, heightM: 100 }, -97, 0).elevationDeg; // due south
const see = (scene: ReturnType<typeof makeScene>, spot = {}, d = dish) =>
  viewFromSpot(scene, { place: origin, ...spot }, d, south, when)[0]!;

test("open flat ground is clear, down to the ground itself", () => {
  const view = see(makeScene());
  satelliteView.parse(view);
  expect(view.clear).toBe(true);
  expect(view.blockedBy).toBeNull();
  expect(view.clearanceDeg!).toBeGreaterThan(el - 2);
  expect(view.clearanceDeg!).toBeLessThan(el + 2);
  expect(view.notes.join(" ")).toContain("taken as clear beyond");
  expect(view.azimuthMagneticDeg).toBeCloseTo(180 - 3.9, 6);
});

test("a wide wall under the ray: clearance is the closed form of the tube", () => {
  // Wall from 20 m south, tall enough to leave about 6°. Straight ahead the tube touches its near upper edge.
  const height = 1.6 + 20 * Math.tan((el - 6) * rad);
  const scene = makeScene({ buildings: [{ id: "hall", ring: box(-60, -30, 60, -20), heightM: height }] });
  const view = see(scene);
  const [a, z] = [20, height - 1.6];
  const [c, s] = [Math.cos(el * rad), Math.sin(el * rad)];
  const expected = Math.atan((Math.abs(z * c - a * s) - 0.45) / (a * c + z * s)) / rad;
  expect(view.clearanceDeg!).toBeCloseTo(expected, 2);
  expect(view.clear).toBe(false);
  expect(view.blockedBy).toMatchObject({ kind: "building", id: "hall" });
  expect(view.blockedBy!.distanceM).toBeCloseTo(20, 1);
  expect(view.blockedBy!.intrusionM).toBeGreaterThan(0);
});

test("a blocked ray: minus the elevation needed", () => {
  const scene = makeScene({ buildings: [{ id: "hall", ring: box(-10, -30, 10, -20), heightM: 40 }] });
  const view = see(scene);
  expect(view.clearanceDeg!).toBeCloseTo(-(Math.atan(38.4 / 20) / rad - el), 3);
  expect(view.clear).toBe(false);
  expect(view.blockedBy!.azimuthDeg).toBeCloseTo(180, 1);
});

test("a tower beside the ray counts by its side", () => {
  const scene = makeScene({ buildings: [{ id: "tower", ring: box(3, -32, 9, -28), heightM: 90 }] });
  const view = see(scene);
  // Least over the near corner's vertical edge of (rho − R)/s.
  let best = Infinity;
  for (let z = 0; z < 80; z += 0.001) {
    const [c, s] = [Math.cos(el * rad), Math.sin(el * rad)];
    for (const a of [28, 32]) best = Math.min(best, (Math.hypot(3, z * c - a * s) - 0.45) / (a * c + z * s));
  }
  expect(view.clearanceDeg!).toBeCloseTo(Math.atan(best) / rad, 2);
});

test("trees have their own margin, and leaf-off is told apart", () => {
  const canopy = (x: number, y: number) => (Math.abs(x) < 40 && y < -24 && y > -34 ? 18 : 0);
  const view = see(makeScene({ canopy }));
  expect(view.clear).toBe(false);
  expect(view.opensLeafOff).toBe(true);
  expect(view.treeClearanceDeg!).toBeLessThan(10);
  expect(view.clearanceDeg!).toBeGreaterThan(30);
  expect(view.blockedBy).toMatchObject({ kind: "tree", id: null });
  const taller = see(makeScene({ canopy }), {}, dishSettings({ diameterM: 0.9, eyeHeightM: 1.6 }, 3));
  expect(taller.treeClearanceDeg!).toBeLessThan(view.treeClearanceDeg!);
});

test("things on a surface without a canopy layer take the margin to trees", () => {
  // Top 8° under the ray: enough for a wall, not for a tree.
  const top = 100 + 1.6 + 30 * Math.tan((el - 8) * rad);
  const solid = (x: number, y: number) => (Math.abs(x) < 50 && y < -30 && y > -40 ? top : -Infinity);
  const view = see(makeScene({ solid }));
  expect(view.blockedBy).toMatchObject({ kind: "surface" });
  expect(view.neededDeg).toBe(10);
  expect(view.clear).toBe(false);
  const withCanopy = see(makeScene({ solid, canopy: () => 0 }));
  expect(withCanopy.clear).toBe(true);
  expect(withCanopy.clearanceDeg!).toBeCloseTo(view.clearanceDeg!, 6);
});

test("a void in the tube is unknown, one outside it is not", () => {
  const near = see(makeScene({ hole: (x, y) => Math.abs(x) < 3 && y < -20 && y > -26 }));
  expect(near.clear).toBeNull();
  expect(near.clearanceDeg).toBeNull();
  expect(near.blockedBy).toMatchObject({ kind: "data-edge" });
  expect(see(makeScene({ hole: (_x, y) => y > 10 })).clear).toBe(true);
  // Known to be blocked stays blocked, void or not.
  const wall = { id: "hall", ring: box(-10, -30, 10, -20), heightM: 40 };
  expect(see(makeScene({ hole: (x, y) => Math.abs(x) < 3 && y < -10 && y > -15, buildings: [wall] })).clear).toBe(
    false,
  );
});

test("the data's edge is unknown only while the tube is low over it", () => {
  // 41.7° up, margin 5°: the lower edge is 50 m above the eye some 67 m out.
  expect(see(makeScene({ rows: 121 })).clear).toBeNull();
  expect(see(makeScene({ rows: 161 })).clear).toBe(true);
});

test("a ridge stands on the ground, with curvature far away", () => {
  const ridge = makeScene({
    cols: 101,
    rows: 401,
    cellM: 30,
    hasSurface: false,
    ground: (_x, y) => (y < -3000 && y > -3200 ? 100 + 1.6 + 3000 * Math.tan((el - 3) * rad) : 100),
  });
  const view = see(ridge);
  expect(view.clear).toBe(false);
  expect(view.blockedBy).toMatchObject({ kind: "terrain" });
  // Height drops by d²/(2·k·R): 0.53 m at 3 km, 0.01°; posts are read once per cell.
  expect(view.clearanceDeg!).toBeGreaterThan(2.9);
  expect(view.clearanceDeg!).toBeLessThan(3.5);
});

test("inside a building is an error; its roof is not", () => {
  const scene = makeScene({ buildings: [{ id: "hall", ring: box(-8, -8, 8, 8), heightM: 9 }] });
  expect(() => see(scene)).toThrowError(/inside hall/);
  expect(() => see(scene, { eyeHeightM: 4 })).toThrowError(/inside hall/);
  const roof = see(scene, { onBuilding: "hall" });
  expect(roof.clear).toBe(true);
  expect(see(scene, { eyeHeightM: 10.6 }).clear).toBe(true);
  expect(() => see(scene, { onBuilding: "none" })).toThrowError(/no building/);
  // A parapet is a new near obstacle.
  const parapet = see(scene, { onBuilding: "hall" }, { ...dish, parapetM: 9 });
  expect(parapet.clearanceDeg!).toBeLessThan(roof.clearanceDeg!);
  expect(parapet.clear).toBe(false);
});

test("temporary obstacles count on their days, or always without times", () => {
  const stage = { id: "stage", ring: box(-10, -30, 10, -20), heightM: 40, temporary: true };
  const between = { ...stage, from: "2026-09-10T08:00:00Z", to: "2026-09-14T20:00:00Z" };
  const day = (b: typeof stage, date: string) =>
    viewFromSpot(makeScene({ buildings: [b] }), { place: origin }, dish, south, { ...when, date })[0]!;
  expect(day(between, "2026-09-12").clear).toBe(false);
  expect(day(between, "2026-09-12").blockedBy).toMatchObject({ kind: "obstacle", id: "stage" });
  expect(day(between, "2026-10-12").clear).toBe(true);
  expect(day(stage, "2030-01-01").clear).toBe(false);
});

test("a satellite below the horizon or below the least elevation is not clear, and the note says so", () => {
  const [low, none] = viewFromSpot(
    makeScene(),
    { place: origin },
    dish,
    [
      { id: "low", longitudeDeg: -28 },
      { id: "none", longitudeDeg: 80 },
    ],
    when,
  );
  expect(low!.clear).toBe(false);
  expect(low!.notes.join(" ")).toContain("least elevation");
  expect(none!.clear).toBe(false);
  expect(none!.clearanceDeg!).toBeLessThan(-20);
  expect(none!.notes.join(" ")).toContain("below the horizon");
});

test("off the ground data", () => {
  expect(() => see(makeScene(), { place: { lng: -96, lat: 42 } })).toThrowError(/outside the ground data/);
});
