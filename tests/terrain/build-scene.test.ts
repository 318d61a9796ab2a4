import { describe, expect, test } from "vitest";
import { HardstandError } from "../../src/errors/index.ts";
import { geodesicInverse } from "../../src/geodesy/index.ts";
import type { Plan } from "../../src/plan/types.ts";
import { buildScene, type SceneOptions } from "../../src/terrain/build-scene.ts";
import { checkAgainstScene } from "../../src/terrain/check-scene.ts";
import { clutterOf } from "../../src/terrain/land-cover.ts";
import type { RasterHandle } from "../../src/terrain/raster.ts";
import { nearestCell, placeOf, type Scene } from "../../src/terrain/scene.ts";
import { egm96 } from "../../src/terrain/vertical.ts";
import { put, smallPlan } from "../support/plan-fixture.ts";
import { buildings, fieldRaster, loadedPlan, near, square } from "../support/scene-fixture.ts";

const flat = () => fieldRaster(() => 400, { file: "ground.tif" });
const build = (
  rasters: { ground?: RasterHandle[]; surface?: RasterHandle[]; canopy?: RasterHandle[] },
  plan: Plan = smallPlan(),
  built: Parameters<typeof loadedPlan>[1] = null,
  options: SceneOptions = {},
) => buildScene(loadedPlan(plan, built), { ground: [], surface: [], canopy: [], ...rasters }, options);

function at(scene: Scene, layer: Float32Array, eastM: number, northM: number): number {
  const [lng, lat] = near(eastM, northM);
  return layer[nearestCell(scene.grid, scene.frame.toXY({ lng, lat }))!.index]!;
}
const codes = (scene: Scene) => scene.warnings.map((w) => w.code);
async function bodyOf(work: Promise<unknown>) {
  const thrown = await work.then(
    () => null,
    (e: unknown) => e,
  );
  expect(thrown).toBeInstanceOf(HardstandError);
  return (thrown as HardstandError).body;
}

describe("frame and grid", () => {
  test("origin in the middle, margin 200 m, cells of the raster, cut to the raster", async () => {
    const scene = await build({ ground: [flat()] });
    const { grid, frame } = scene;
    expect(grid.cellM).toBe(1);
    // Features span 41.6 N 98.5005 W to 41.601 N 98.498 W: 208 m by 167 m; on one side the raster ends first.
    expect(grid.cols).toBeGreaterThan(560);
    expect(grid.cols).toBeLessThan(620);
    expect(grid.rows).toBeGreaterThan(540);
    expect(grid.rows).toBeLessThan(580);
    expect(frame.origin.lng).toBeCloseTo(-98.49925, 5);
    for (const layer of [scene.groundM, scene.surfaceM]) {
      expect(layer.buffer).toBeInstanceOf(SharedArrayBuffer);
      expect(layer.every((z) => z === 400)).toBe(true);
    }
  });

  test("cell centres lie where the geodesic says, to 1 in 10⁴", async () => {
    const { grid, frame } = await build({ ground: [flat()] });
    const a = frame.toLngLat(placeOf(grid, 0, 0));
    const b = frame.toLngLat(placeOf(grid, grid.cols - 1, grid.rows - 1));
    const straight = Math.hypot(grid.cols - 1, grid.rows - 1) * grid.cellM;
    expect(Math.abs(geodesicInverse(a, b).distanceM / straight - 1)).toBeLessThan(1e-4);
  });

  test("a grid that would be too large gets coarser cells and says why; walls stay", async () => {
    const wall = fieldRaster((x) => (x > 100 && x < 101 ? 412 : 400), { file: "dsm.tif" });
    const scene = await build({ ground: [flat()], surface: [wall] }, smallPlan(), null, { maxCells: 20_000 });
    expect(scene.grid.cellM).toBe(5);
    expect(scene.grid.cols * scene.grid.rows).toBeLessThanOrEqual(20_000 * 1.05);
    expect(scene.warnings.find((w) => w.code === "terrain.cell-coarsened")?.text).toMatch(
      /5 m instead of 1 m.*million/,
    );
    for (const north of [-90, 0, 90]) expect(at(scene, scene.surfaceM, 100.5, north)).toBe(412);
  });

  test("terrain.cellM and marginM are followed", async () => {
    const plan = put(smallPlan(), ["terrain"], { ground: ["g.tif"], cellM: 2, marginM: 50 });
    const { grid } = await build({ ground: [flat()] }, plan);
    expect(grid.cellM).toBe(2);
    expect(grid.cols).toBeGreaterThanOrEqual(150);
    expect(grid.cols).toBeLessThanOrEqual(157);
  });

  test("a plan beside its rasters: coverage; a point off them: its name and their extent", async () => {
    const away = fieldRaster(() => 400, { west: 5000 });
    expect((await bodyOf(build({ ground: [away] }))).code).toBe("terrain.coverage");
    const plan = put(smallPlan(), ["points", "features", 1, "geometry", "coordinates"], near(900, 0));
    const scene = await build({ ground: [flat()] }, plan);
    try {
      checkAgainstScene(loadedPlan(plan), scene, "p.json");
      expect.unreachable();
    } catch (thrown) {
      expect((thrown as HardstandError).body).toMatchObject({
        code: "plan.geometry-outside",
        where: /^p\.json: points\.features\[1\].*\(Gate\)/,
      });
    }
  });

  test("a pair of donors kilometres away does not cost resolution", async () => {
    const donor = (east: number) => ({
      type: "Feature",
      geometry: { type: "Point", coordinates: near(east, 0) },
      properties: { id: `d${east}`, frequencyMHz: 700, antennaHeightM: 30 },
    });
    const plan = put(smallPlan(), ["backhaul"], { donors: { type: "FeatureCollection", features: [donor(450)] } });
    const scene = await build({ ground: [flat()] }, plan);
    expect(nearestCell(scene.grid, scene.frame.toXY({ lng: near(450, 0)[0], lat: 41.6 }))).not.toBeNull();
    const tight = await build({ ground: [flat()] }, plan, null, { maxCells: 350_000 });
    expect(tight.grid.cellM).toBe(1);
    expect(codes(tight)).toContain("terrain.donor-beyond-grid");
  });
});

describe("what is missing is said", () => {
  test("bare earth alone", async () => {
    const scene = await build({ ground: [flat()] });
    expect(scene.hasSurface).toBe(false);
    expect(scene.warnings.find((w) => w.code === "terrain.bare-earth")?.text).toBe(
      "Bare earth only: trees and buildings are not in it.",
    );
    expect(scene.bareSurfaceM).toBe(scene.surfaceM);
    expect(scene.canopyM).toBeNull();
  });
  test("a surface without canopy", async () => {
    const scene = await build({ ground: [flat()], surface: [fieldRaster((x) => (x > 0 && x < 9 ? 409 : 400))] });
    expect(codes(scene)).toEqual(["terrain.no-canopy"]);
    expect(scene.hasSurface).toBe(true);
  });
  test("void ground is void in every layer, and a point on it is refused by name", async () => {
    const holed = fieldRaster((x, y) => (Math.hypot(x, y) < 20 ? Number.NaN : 400));
    const scene = await build({ ground: [holed] });
    expect(at(scene, scene.groundM, 0, 0)).toBeNaN();
    expect(at(scene, scene.surfaceM, 0, 0)).toBeNaN();
    expect(codes(scene)).toContain("terrain.ground-void");
    try {
      checkAgainstScene(loadedPlan(smallPlan()), scene, "p.json");
      expect.unreachable();
    } catch (thrown) {
      expect((thrown as HardstandError).body).toMatchObject({
        code: "plan.point-on-nodata",
        where: /points\.features\[0\]/,
        received: "[-98.5, 41.6]",
      });
    }
  });
  test("parking partly on unknown ground warns, wholly is refused", async () => {
    const holed = (radius: number) => fieldRaster((x, y) => (Math.hypot(x - 20, y - 20) < radius ? Number.NaN : 400));
    const plan = put(smallPlan(), ["points", "features", 0, "geometry", "coordinates"], near(-200, 0));
    const scene = await build({ ground: [holed(15)] }, plan);
    expect(checkAgainstScene(loadedPlan(plan), scene).map((w) => w.code)).toEqual(["plan.area-part-unknown"]);
    const none = await build({ ground: [holed(110)] }, plan);
    expect(() => checkAgainstScene(loadedPlan(plan), none)).toThrow(/Yard stands where the ground is unknown/);
  });
  test("a void surface over known ground stays unknown; a gap of two cells is closed with the higher side", async () => {
    const gappy = fieldRaster((x, y) =>
      x > 50 && x < 52 ? Number.NaN : Math.hypot(x - 80, y) < 15 ? Number.NaN : x >= 52 && x < 60 ? 406 : 400,
    );
    const scene = await build({ ground: [flat()], surface: [gappy] });
    expect(at(scene, scene.surfaceM, 51, 40)).toBe(406);
    expect(at(scene, scene.surfaceM, 80, 0)).toBeNaN();
    expect(codes(scene)).toEqual(expect.arrayContaining(["terrain.surface-gaps", "terrain.surface-void"]));
  });
  test("holes of the ground under a known surface are estimated and marked, never above the surface", async () => {
    const holed = fieldRaster((x, y) => (Math.abs(x - 30) < 10 && Math.abs(y) < 10 ? Number.NaN : 400 + 0.05 * x));
    const dsm = fieldRaster((x, y) => (Math.abs(x - 30) < 10 && Math.abs(y) < 10 ? 412 : 400 + 0.05 * x));
    const scene = await build({ ground: [holed], surface: [dsm] });
    expect(at(scene, scene.groundM, 30, 0)).toBeCloseTo(401.5, 0);
    const index = nearestCell(scene.grid, scene.frame.toXY({ lng: near(30, 0)[0], lat: 41.6 }))!.index;
    expect(scene.groundFilled?.[index]).toBe(1);
    expect(scene.groundFilled?.reduce((a, b) => a + b, 0)).toBeGreaterThan(390);
    expect(codes(scene)).toContain("terrain.ground-filled");
  });
});

describe("buildings", () => {
  test("burned as a maximum over exactly the cells whose centre they hold", async () => {
    const scene = await build(
      { ground: [fieldRaster((x) => 400 + 0.01 * x)] },
      smallPlan(),
      buildings({ east: 50, north: 20, side: 20, properties: { id: "hall", heightM: 8 } }),
    );
    const inside = [...scene.buildingAt!].flatMap((k, i) => (k === 1 ? [i] : []));
    expect(Math.abs(inside.length - 400)).toBeLessThan(25);
    const [hall] = scene.buildings;
    expect(hall).toMatchObject({ id: "hall", heightSource: "measured", temporary: false });
    expect(hall!.baseAmslM).toBeCloseTo(400.5, 1);
    for (const i of inside) expect(scene.surfaceM[i]).toBeCloseTo(hall!.topAmslM, 4);
    expect(scene.hasSurface).toBe(true);
    expect(codes(scene)).toEqual(["terrain.no-trees"]);
    expect(at(scene, scene.groundM, 50, 20)).toBeCloseTo(400.5, 1);
  });
  test("never lower than a surface that is higher, never added to it", async () => {
    const dsm = fieldRaster((x, y) => (Math.hypot(x - 50, y - 20) < 5 ? 420 : 400));
    const scene = await build(
      { ground: [flat()], surface: [dsm] },
      smallPlan(),
      buildings({ east: 50, north: 20, side: 20, properties: { heightM: 8 } }),
    );
    expect(at(scene, scene.surfaceM, 50, 20)).toBe(420);
    expect(at(scene, scene.surfaceM, 58, 20)).toBeCloseTo(408, 4);
  });
  test("height from floors, from open data fields, assumed: marked and counted", async () => {
    const rows = [
      { floors: 4 },
      { height: "7.5 m" },
      { "building:levels": 2 },
      {},
      { heightM: 9, heightSource: "assumed" },
    ];
    const scene = await build(
      { ground: [flat()] },
      smallPlan(),
      buildings(...rows.map((properties, i) => ({ east: 40 * i - 80, north: 50, side: 12, properties }))),
    );
    expect(scene.buildings.map((b) => [b.heightM, b.heightSource])).toEqual([
      [12, "floors"],
      [7.5, "measured"],
      [6, "floors"],
      [6, "assumed"],
      [9, "assumed"],
    ]);
    expect(scene.warnings.find((w) => w.code === "terrain.height-assumed")?.text).toContain("2 of 5 buildings");
  });
  test("the declared base wins and one far from the ground is said", async () => {
    const scene = await build(
      { ground: [flat()] },
      smallPlan(),
      buildings({ east: 0, north: 50, side: 12, properties: { id: "x", heightM: 5, baseM: 430 } }),
    );
    expect(scene.buildings[0]!.topAmslM).toBe(435);
    expect(codes(scene)).toContain("terrain.building-base");
  });
  test("on coarse cells a house that fills a quarter of one is burned, a shed is not but stays in the list", async () => {
    const coarse = fieldRaster(() => 400, { cell: 20, width: 50, height: 50 });
    const scene = await build(
      { ground: [coarse] },
      smallPlan(),
      buildings(
        { east: 5, north: 5, side: 11, properties: { heightM: 5 } },
        { east: 65, north: 5, side: 3, properties: { heightM: 3 } },
      ),
    );
    expect(scene.buildings).toHaveLength(2);
    expect([...scene.buildingAt!].filter((k) => k > 0)).toEqual([1]);
    expect(codes(scene)).toContain("terrain.building-small");
  });
  test("a temporary obstacle stands between its dates, always without", async () => {
    const obstacle = (dates: object) =>
      put(smallPlan(), ["hazards"], {
        type: "FeatureCollection",
        features: [
          {
            type: "Feature",
            geometry: { type: "LineString", coordinates: [near(40, 0), near(40, 60)] },
            properties: { kind: "obstacle", heightM: 5, ...dates },
          },
        ],
      });
    const september = { from: "2026-09-01T00:00:00Z", to: "2026-09-30T00:00:00Z" };
    const on = await build({ ground: [flat()] }, obstacle(september), null, { when: "2026-09-12T10:00:00Z" });
    expect(at(on, on.surfaceM, 40, 30)).toBe(405);
    expect(on.buildings[0]).toMatchObject({ temporary: true, from: september.from, heightM: 5 });
    const off = await build({ ground: [flat()] }, obstacle(september), null, { when: "2026-10-12T10:00:00Z" });
    expect(at(off, off.surfaceM, 40, 30)).toBe(400);
    const byDay = await build({ ground: [flat()] }, put(obstacle(september), ["date"], "2026-11-01"));
    expect(at(byDay, byDay.surfaceM, 40, 30)).toBe(400);
    const always = await build({ ground: [flat()] }, obstacle({}), null, { when: "2030-01-01T00:00:00Z" });
    expect(at(always, always.surfaceM, 40, 30)).toBe(405);
  });
});

describe("canopy", () => {
  const trees = fieldRaster((x) => (x > 50 && x < 60 ? 12 : 0), { file: "canopy.tif" });
  const dsm = fieldRaster((x, y) => (x > 50 && x < 60 ? 412.5 : x > 70 && x < 75 && y > 0 ? 406 : 400), {
    file: "dsm.tif",
  });

  test("solid: the maximum; absent: a surface within a metre of the canopy becomes ground, walls stay", async () => {
    const scene = await build({ ground: [flat()], surface: [dsm], canopy: [trees] });
    expect(at(scene, scene.surfaceM, 55, 10)).toBe(412.5);
    expect(at(scene, scene.bareSurfaceM, 55, 10)).toBe(400);
    expect(at(scene, scene.surfaceM, 72, 10)).toBe(406);
    expect(at(scene, scene.bareSurfaceM, 72, 10)).toBe(406);
    expect(at(scene, scene.canopyM!, 55, 10)).toBe(12);
    expect(at(scene, scene.canopyM!, 30, 10)).toBe(0);
    expect(scene.warnings).toEqual([]);
  });
  test("canopy on ground alone, with growth", async () => {
    const plan = put(smallPlan(), ["terrain"], { ground: ["g.tif"], canopyGrowthM: 1.5 });
    const scene = await build({ ground: [flat()], canopy: [trees] }, plan);
    expect(at(scene, scene.surfaceM, 55, 10)).toBe(413.5);
    expect(at(scene, scene.canopyM!, 55, 10)).toBe(13.5);
    expect(at(scene, scene.bareSurfaceM, 55, 10)).toBe(400);
    expect(at(scene, scene.surfaceM, 30, 10)).toBe(400);
    expect(codes(scene)).toEqual(["terrain.no-buildings"]);
  });
  test("treetops above the sea are no canopy", async () => {
    const body = await bodyOf(build({ ground: [flat()], canopy: [fieldRaster(() => 405, { file: "chm.tif" })] }));
    expect(body).toMatchObject({ code: "terrain.units-disagree", where: "terrain.canopy" });
  });
});

describe("land cover", () => {
  const classes = (codes: (x: number, y: number) => number) =>
    fieldRaster(codes, { file: "cover.tif", cell: 10, width: 100, height: 100 });
  const covered = (scheme: string) =>
    put(smallPlan(), ["terrain"], { ground: ["g.tif"], landCover: { files: ["cover.tif"], scheme } });
  const nlcd = classes((x) => (x < 0 ? 42 : x < 100 ? 23 : x < 150 ? 11 : 7));

  test("trees and houses at their class's height, never a mixture; a strange code is unknown", async () => {
    const scene = await buildScene(loadedPlan(covered("nlcd")), {
      ground: [flat()],
      surface: [],
      canopy: [],
      landCover: [nlcd],
    });
    expect(at(scene, scene.surfaceM, -50, 10)).toBe(415);
    expect(at(scene, scene.bareSurfaceM, -50, 10)).toBe(400);
    expect(at(scene, scene.canopyM!, -50, 10)).toBe(15);
    expect(at(scene, scene.surfaceM, 50, 10)).toBe(410);
    expect(at(scene, scene.bareSurfaceM, 50, 10)).toBe(410);
    expect(at(scene, scene.surfaceM, 120, 10)).toBe(400);
    expect(at(scene, scene.surfaceM, 250, 10)).toBeNaN();
    expect(scene.surfaceM.every((z) => Number.isNaN(z) || [400, 410, 415].includes(z))).toBe(true);
    expect(scene.hasSurface).toBe(true);
    expect(codes(scene)).toEqual(["terrain.land-cover-heights", "terrain.land-cover-unknown-class"]);
  });
  test("a surface raster shows what stands there: land cover adds nothing", async () => {
    const scene = await buildScene(loadedPlan(covered("nlcd")), {
      ground: [flat()],
      surface: [fieldRaster((x) => (x > 0 && x < 9 ? 409 : 400))],
      canopy: [],
      landCover: [nlcd],
    });
    expect(at(scene, scene.surfaceM, -50, 10)).toBe(400);
    expect(scene.canopyM).toBeNull();
  });
  test("a measured canopy is used for trees, land cover for houses only", async () => {
    const scene = await buildScene(loadedPlan(covered("nlcd")), {
      ground: [flat()],
      surface: [],
      canopy: [fieldRaster(() => 7)],
      landCover: [nlcd],
    });
    expect(at(scene, scene.canopyM!, -50, 10)).toBe(7);
    expect(at(scene, scene.surfaceM, 50, 10)).toBe(410);
  });
  test.each([
    ["nlcd", 24, 15, 0],
    ["nlcd", 82, 0, 0],
    ["corine", 112, 10, 0],
    ["corine", 2, 10, 0],
    ["corine", 25, 0, 15],
    ["corine", 313, 0, 15],
    ["fbfm40", 165, 0, 15],
    ["fbfm40", 188, 0, 15],
    ["fbfm40", 102, 0, 0],
    ["fbfm40", 91, 10, 0],
  ] as const)("%s %d: houses %d m, trees %d m", (scheme, code, houseM, treeM) => {
    expect(clutterOf(scheme, code)).toEqual({ houseM, treeM });
  });
  test("codes of another scheme are unknown, not nought", () => {
    expect(clutterOf("nlcd", 165)).toBeNull();
    expect(clutterOf("fbfm40", 41)).toBeNull();
    expect(clutterOf("corine", 999)).toBeNull();
  });
});

describe("a reader that distrusts", () => {
  const hilly = (x: number, y: number) => 400 + 10 * Math.sin(x / 60) + 0.02 * y;
  const town = (x: number, y: number) => hilly(x, y) + (Math.abs(x % 40) < 15 && Math.abs(y % 30) < 10 ? 7 : 0);
  test("feet for metres stops with both numbers, whichever it is", async () => {
    const ground = fieldRaster(hilly);
    const feet = await bodyOf(build({ ground: [ground], surface: [fieldRaster((x, y) => town(x, y) / 0.3048)] }));
    expect(feet.code).toBe("terrain.units-disagree");
    expect(feet.received).toMatch(/ground 398\.\d m, surface 1309\.\d m.*ratio 3\.28/);
    expect(feet.hint).toContain("the surface looks like feet");
    const other = await bodyOf(
      build({ ground: [fieldRaster((x, y) => hilly(x, y) / 0.3048)], surface: [fieldRaster(town)] }),
    );
    expect(other.hint).toContain("the ground looks like feet");
  });
  test("a constant offset stops with both numbers; trees and houses do not", async () => {
    const ground = fieldRaster(hilly);
    const body = await bodyOf(build({ ground: [ground], surface: [fieldRaster((x, y) => town(x, y) + 27)] }));
    expect(body).toMatchObject({
      code: "terrain.units-disagree",
      message: /constant height apart/,
      received: /27\.\d m apart/,
    });
    await build({ ground: [ground], surface: [fieldRaster(town)] });
    const forest = (x: number, y: number) => hilly(x, y) + 14 + 4 * Math.sin(x * 1.7) * Math.cos(y * 2.3);
    expect(codes(await build({ ground: [ground], surface: [fieldRaster(forest)] }))).toContain(
      "terrain.offset-suspected",
    );
  });
  test("exchanged files are said", async () => {
    const body = await bodyOf(
      build({ ground: [fieldRaster((x, y) => hilly(x, y) + 5)], surface: [fieldRaster(hilly)] }),
    );
    expect(body.code).toBe("terrain.units-disagree");
  });
  test("a ground with houses in it looks like a surface; hills and banks do not", async () => {
    const scene = await build({ ground: [fieldRaster(town)] });
    expect(codes(scene)).toContain("terrain.ground-looks-like-surface");
    const bank = fieldRaster((x) => 400 + Math.max(0, Math.min(6, (x - 20) / 2)));
    expect(codes(await build({ ground: [bank] }))).toEqual(["terrain.bare-earth"]);
    const built = await build(
      { ground: [fieldRaster((x, y) => (Math.abs(x - 50) < 10 && Math.abs(y - 20) < 10 ? 408 : 400))] },
      smallPlan(),
      buildings({ east: 50, north: 20, side: 20, properties: { heightM: 8 } }),
    );
    expect(codes(built)).toContain("terrain.ground-has-buildings");
  });
  test("a surface with nothing on it is said", async () => {
    expect(codes(await build({ ground: [fieldRaster(hilly)], surface: [fieldRaster(hilly)] }))).toContain(
      "terrain.surface-bare",
    );
  });
  test("unequal vertical datums are refused, an unknown one is said", async () => {
    const g = fieldRaster(hilly, { verticalDatum: "navd88", file: "a.tif" });
    const s = (verticalDatum: string) => fieldRaster(town, { verticalDatum, file: "b.tif" });
    expect(await bodyOf(build({ ground: [g], surface: [s("egm2008")] }))).toMatchObject({
      code: "terrain.datum-mixed",
      received: "a.tif: navd88, b.tif: egm2008",
    });
    expect(
      await bodyOf(build({ ground: [fieldRaster(hilly, { file: "a.tif" })], surface: [s("ellipsoid")] })),
    ).toMatchObject({ code: "terrain.datum-mixed" });
    expect(codes(await build({ ground: [g], surface: [s("unknown")] }))).toContain("terrain.datum-unknown");
    expect(codes(await build({ ground: [g], surface: [s("navd88")] }))).toEqual(["terrain.no-canopy"]);
  });
  test("ellipsoidal heights come down to the sea by EGM96", async () => {
    const geoid = (lat: number, lng: number) => -25 + (lng + 98.5) * 10 + (lat - 41.6) * 3;
    const surface = fieldRaster((x, y) => town(x, y) + geoid(near(x, y)[1], near(x, y)[0]), {
      verticalDatum: "ellipsoid",
    });
    const scene = await build(
      { ground: [fieldRaster(hilly, { verticalDatum: "orthometric" })], surface: [surface] },
      smallPlan(),
      null,
      { geoid: async () => geoid },
    );
    expect(at(scene, scene.surfaceM, 30, 15)).toBeCloseTo(hilly(30, 15), 1);
    expect(scene.warnings.find((w) => w.code === "terrain.geoid-applied")?.text).toContain("-25.0 m");
  });
  // Two lines of the sample output (OUTINTPT.DAT) that NGA publishes with its EGM96 interpolation program; from memory.
  test("EGM96 at two places of the published sample output", async () => {
    const n = await egm96();
    expect(n(38.628155, 269.779155)).toBeCloseTo(-31.628, 1);
    expect(n(-14.621217, 305.021114)).toBeCloseTo(-2.969, 1);
  });
  test("a step between files is measured and warned of; a good join is not", async () => {
    const half = (file: string, west: number, lift: number) =>
      fieldRaster((x, y) => hilly(x, y) + lift, { file, west, width: 500, heightSdM: 0.2 });
    const good = await build({ ground: [half("w.tif", -500, 0), half("e.tif", 0, 0)] });
    expect(codes(good)).toEqual(["terrain.bare-earth"]);
    const bad = await build({ ground: [half("w.tif", -500, 0), half("e.tif", 0, 2.5)] });
    expect(bad.warnings.find((w) => w.code === "terrain.seam-step")?.text).toMatch(
      /w\.tif meets e\.tif.*step by 2\.[0-9] m/,
    );
  });
  test("a tile of a global set named as ground is said to be a surface", async () => {
    expect(codes(await build({ ground: [fieldRaster(hilly, { file: "N41W099.hgt" })] }))).toContain(
      "terrain.ground-is-surface-set",
    );
  });
});

describe("a surface alone", () => {
  test("ground is estimated: objects come off, slopes and hills stay", async () => {
    const land = (x: number, y: number) => 400 + 15 * Math.sin(x / 150) + 0.05 * y;
    const things = (x: number, y: number) =>
      Math.abs(x - 60) < 12 && Math.abs(y) < 20 ? 9 : Math.hypot(x + 60, y - 50) < 6 ? 14 : 0;
    const scene = await build({ surface: [fieldRaster((x, y) => land(x, y) + things(x, y))] });
    expect(scene.groundEstimated).toBe(true);
    expect(codes(scene)).toContain("terrain.ground-estimated");
    const wrong: number[] = [];
    for (let e = -180; e <= 300; e += 4)
      for (let n = -150; n <= 250; n += 4) wrong.push(Math.abs(at(scene, scene.groundM, e, n) - land(e, n)));
    wrong.sort((a, b) => a - b);
    expect(wrong[Math.floor(0.95 * wrong.length)]).toBeLessThan(0.5);
    expect(wrong.at(-1)).toBeLessThan(3);
    expect(at(scene, scene.surfaceM, 60, 0)).toBeCloseTo(land(60, 0) + 9, 1);
  });
});

describe("far ground", () => {
  test("reaches where the rasters do, keeps a ridge one cell wide, is absent when they end with the grid", async () => {
    const wide = fieldRaster((x) => (Math.abs(x - 2995) < 1 ? 700 : 400), {
      west: -6000,
      north: 6000,
      cell: 10,
      width: 1200,
      height: 1200,
    });
    const scene = await build({ ground: [wide] });
    const far = scene.farField!;
    expect(far.grid.cellM).toBeGreaterThanOrEqual(30);
    expect(far.grid.cols * far.grid.cellM).toBeGreaterThan(11_900);
    const rows = Array.from({ length: far.grid.rows - 4 }, (_, r) =>
      Math.max(
        ...far.groundM.subarray((r + 2) * far.grid.cols, (r + 3) * far.grid.cols).filter((z) => !Number.isNaN(z)),
      ),
    );
    expect(rows.every((z) => z === 700)).toBe(true);
    const small = fieldRaster(() => 400, { west: -260, north: 330, width: 620, height: 560 });
    expect((await build({ ground: [small] })).farField).toBeNull();
  });
});

test("a signal stops the work", async () => {
  const stop = new AbortController();
  const work = build({ ground: [flat()] }, smallPlan(), null, { signal: stop.signal, onProgress: () => stop.abort() });
  expect((await bodyOf(work)).code).toBe("run.cancelled");
});

test("coordinates are compared with the rasters before a grid is made", async () => {
  const plan = smallPlan();
  for (const i of [0, 1]) put(plan, ["points", "features", i, "geometry", "coordinates"], [41.6, -98.5 + 20 * i * 0]);
  put(plan, ["parking", "features", 0, "geometry"], square(0, 0, 40));
  const body = await bodyOf(build({ ground: [flat()] }, plan));
  expect(["plan.coordinates-swapped", "plan.coordinates-far"]).toContain(body.code);
});
