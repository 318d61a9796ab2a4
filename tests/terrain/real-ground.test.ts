import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { openRaster } from "../../server/raster/index.ts";
import { parseCollection } from "../../src/plan/collection.ts";
import type { Plan } from "../../src/plan/types.ts";
import { buildScene } from "../../src/terrain/build-scene.ts";
import type { Grid, Scene } from "../../src/terrain/scene.ts";
import { smallPlan } from "../support/plan-fixture.ts";
import { loadedPlan } from "../support/scene-fixture.ts";
import { hasShared, needs, shared } from "../support/tools.ts";

let cacheDir: string;
beforeAll(() => {
  cacheDir = mkdtempSync(join(tmpdir(), "real-"));
});
afterAll(() => rmSync(cacheDir, { recursive: true }));

const open = (...parts: string[]) => openRaster(shared("terrain", ...parts), { name: parts.at(-1)!, cacheDir });

/** The small plan with its points at the given places and its parking a square round the first, side in degrees. */
function planAt(places: [number, number][], side: number, terrain: object): Plan {
  const plan = smallPlan() as unknown as {
    points: { features: object[] };
    parking: { features: { geometry: object }[] };
    terrain: object;
  };
  const [lng, lat] = places[0]!;
  plan.points.features = places.map((coordinates, i) => ({
    type: "Feature",
    geometry: { type: "Point", coordinates },
    properties: { id: `p${i}`, rung: "must", needs: ["cell/talk"] },
  }));
  const ring = [
    [0, 0],
    [side, 0],
    [side, side],
    [0, side],
    [0, 0],
  ].map(([x, y]) => [lng + x!, lat + y!]);
  plan.parking.features[0]!.geometry = { type: "Polygon", coordinates: [ring] };
  plan.terrain = terrain;
  return plan as unknown as Plan;
}

/** The same grid made by GDAL's warper, bilinear, −9999 where void. */
function warped(scene: Scene, ...files: string[]): Float32Array {
  const { grid, frame } = scene;
  const out = join(cacheDir, "warped.bin");
  const srs = `+proj=tmerc +lat_0=${frame.origin.lat} +lon_0=${frame.origin.lng} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs`;
  const te = [grid.westM, grid.northM - grid.rows * grid.cellM, grid.westM + grid.cols * grid.cellM, grid.northM];
  const run = spawnSync(
    "gdalwarp",
    [
      "-q",
      "-overwrite",
      "-t_srs",
      srs,
      "-te",
      ...te.map(String),
      "-ts",
      String(grid.cols),
      String(grid.rows),
      "-r",
      "bilinear",
      "-et",
      "0",
      "-ot",
      "Float32",
      "-dstnodata",
      "-9999",
      "-of",
      "ENVI",
      ...files,
      out,
    ],
    { encoding: "utf8", timeout: 60_000 },
  );
  expect(run.status, run.stderr).toBe(0);
  const bytes = readFileSync(out);
  return new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
}

function compare(ours: Float32Array, theirs: Float32Array, grid: Grid) {
  let [both, worst, sum, only] = [0, 0, 0, 0];
  // GDAL treats the outermost half cell and void rims in its own way: the inside is what is compared.
  for (let r = 2; r < grid.rows - 2; r++)
    for (let c = 2; c < grid.cols - 2; c++) {
      const i = r * grid.cols + c;
      const a = ours[i]!;
      const b = theirs[i]!;
      if (Number.isNaN(a) !== (b === -9999)) only++;
      if (Number.isNaN(a) || b === -9999) continue;
      both++;
      worst = Math.max(worst, Math.abs(a - b));
      sum += Math.abs(a - b);
    }
  return { both, worst, mean: sum / both, onlyShare: only / (grid.rows * grid.cols) };
}

describe.runIf(hasShared() && needs("gdalwarp"))("real ground against GDAL's warper", () => {
  test("Mt Hood, 30 m UTM metres: every cell within 0.25 m on slopes up to a cliff's, 0.01 m in the mean", async () => {
    const plan = planAt(
      [
        [-121.72, 45.33],
        [-121.66, 45.37],
      ],
      0.004,
      { ground: ["x"], marginM: 3000, cellM: 30 },
    );
    const scene = await buildScene(loadedPlan(plan), {
      ground: [await open("mt_hood_elev_30m_utm10.tif")],
      surface: [],
      canopy: [],
    });
    const found = compare(scene.groundM, warped(scene, shared("terrain", "mt_hood_elev_30m_utm10.tif")), scene.grid);
    expect(found.both).toBeGreaterThan(100_000);
    expect(found.onlyShare).toBe(0);
    expect(found.mean).toBeLessThan(0.01);
    // A hundredth of a 30 m cell on a 45° slope is 0.3 m.
    expect(found.worst).toBeLessThan(0.3);
    expect(scene.groundPostingM).toBeCloseTo(30, 0);
    expect(scene.farField).not.toBeNull();
  });

  test("Mt Hood with its fuel models as land cover: forest stands 15 m on the classes that have trees", async () => {
    const terrain = { ground: ["x"], landCover: { files: ["y"], scheme: "fbfm40" }, cellM: 30 };
    const plan = planAt(
      [
        [-121.72, 45.33],
        [-121.66, 45.37],
      ],
      0.004,
      terrain,
    );
    const name = "mt_hood_landcover_fbfm40_30m_utm10.tif";
    const cover = await openRaster(shared("terrain", name), { name, cacheDir, use: "land-cover" });
    const scene = await buildScene(loadedPlan(plan), {
      ground: [await open("mt_hood_elev_30m_utm10.tif")],
      surface: [],
      canopy: [],
      landCover: [cover],
    });
    const forest = scene.canopyM!.filter((h) => h === 15).length / scene.canopyM!.length;
    expect(forest).toBeGreaterThan(0.3);
    expect(scene.canopyM!.every((h) => h === 0 || h === 15)).toBe(true);
    expect(scene.warnings.map((w) => w.code)).toContain("terrain.land-cover-heights");
    expect(scene.warnings.map((w) => w.code)).not.toContain("terrain.land-cover-unknown-class");
  });

  test("the same ground in state-plane feet: within a metre of the metric file, and the two mix without a seam", async () => {
    const plan = planAt(
      [
        [-121.72, 45.33],
        [-121.66, 45.37],
      ],
      0.004,
      { ground: ["x"], cellM: 30 },
    );
    const metres = await open("mt_hood_elev_30m_utm10.tif");
    const feet = await open("mt_hood_elev_stateplane_ft.tif");
    const a = await buildScene(loadedPlan(plan), { ground: [metres], surface: [], canopy: [] });
    const b = await buildScene(loadedPlan(plan), { ground: [feet], surface: [], canopy: [] });
    expect(b.grid).toEqual(a.grid);
    const gaps = a.groundM.map((z, i) => Math.abs(z - b.groundM[i]!)).sort();
    expect(gaps[Math.floor(gaps.length / 2)]).toBeLessThan(1);
    expect(gaps[Math.floor(gaps.length * 0.99)]).toBeLessThan(12);
  });

  test("two SRTM tiles, geographic, one grid across their common edge: no seam", async () => {
    const plan = planAt(
      [
        [1.5, 41.99],
        [1.56, 42.02],
      ],
      0.005,
      { ground: ["x", "y"], cellM: 60, marginM: 1500 },
    );
    const south = ["srtm3_N41E001_lzw.tif"] as const;
    const north = ["srtm3_N42E001_zstd_tiled.tif"] as const;
    const scene = await buildScene(loadedPlan(plan), {
      ground: [await open(...south), await open(...north)],
      surface: [],
      canopy: [],
    });
    expect(scene.warnings.map((w) => w.code)).not.toContain("terrain.seam-step");
    expect(scene.warnings.map((w) => w.code)).toContain("terrain.ground-is-surface-set");
    // Joined first: warped one after the other, GDAL clamps each tile in its outermost half cell, which is a seam.
    const joined = join(cacheDir, "joined.vrt");
    expect(
      spawnSync("gdalbuildvrt", ["-q", joined, shared("terrain", ...north), shared("terrain", ...south)]).status,
    ).toBe(0);
    const theirs = warped(scene, joined);
    const found = compare(scene.groundM, theirs, scene.grid);
    expect(found.both).toBeGreaterThan(10_000);
    expect(found.mean).toBeLessThan(0.05);
    expect(found.worst).toBeLessThan(1);
    // A raw height file of the same tile gives the same ground.
    const raw = await buildScene(loadedPlan(plan), {
      ground: [await open(...south), await open("hgt", "N42E001.hgt")],
      surface: [],
      canopy: [],
    });
    expect(Buffer.compare(Buffer.from(raw.groundM.buffer), Buffer.from(scene.groundM.buffer))).toBe(0);
  });

  test("Delft, 0.5 m national grid: ground within 5 cm, buildings from open data stand on it, voids of the surface stay unknown", async () => {
    const plan = planAt(
      [
        [4.3668, 52.0128],
        [4.368, 52.0122],
      ],
      0.0003,
      { ground: ["x"], surface: ["y"], buildings: "z", marginM: 60 },
    );
    const ground = await open("delft_ahn3_dtm_05m.tif");
    const surface = await open("delft_ahn3_dsm_05m.tif");
    const houses = parseCollection(
      "buildings",
      readFileSync(shared("terrain", "delft_buildings.geojson"), "utf8"),
      "b.geojson",
    );
    const scene = await buildScene(loadedPlan(plan, houses), { ground: [ground], surface: [surface], canopy: [] });
    expect(scene.grid.cellM).toBeCloseTo(0.5, 3);
    const found = compare(scene.groundM, warped(scene, shared("terrain", "delft_ahn3_dtm_05m.tif")), scene.grid);
    expect(found.both).toBeGreaterThan(20_000);
    expect(found.mean).toBeLessThan(0.01);
    expect(found.worst).toBeLessThan(0.3);
    expect(scene.buildings).toHaveLength(160);
    expect(scene.buildings.every((b) => b.heightSource === "measured")).toBe(true);
    // Heights and bases of the same survey: the median roof stands where the surface raster has it.
    const errors = scene.buildings.flatMap((b, k) => {
      const cells = [...scene.buildingAt!].flatMap((v, i) => (v === k + 1 ? [i] : []));
      if (cells.length < 60) return [];
      return [Math.abs(b.baseAmslM - Number(houses.features[k]!.properties.ground_z))];
    });
    expect(errors.length).toBeGreaterThan(10);
    expect(errors.sort((p, q) => p - q)[Math.floor(errors.length / 2)]).toBeLessThan(0.5);
    const codes = scene.warnings.map((w) => w.code);
    expect(codes).toEqual(expect.arrayContaining(["terrain.no-canopy", "terrain.surface-void"]));
    expect(codes).not.toContain("terrain.units-disagree");
    expect(scene.surfaceM.some((z) => Number.isNaN(z))).toBe(true);
  });
});
