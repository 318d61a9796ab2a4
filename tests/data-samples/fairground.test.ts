import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { BUILDINGS, fairgroundLayers, SIDE_M } from "../../data-samples/fairground-ground.ts";
import { lngLat } from "../../data-samples/fairground-plan.ts";
import { fairgroundTexts, SEED } from "../../data-samples/make-fairground.ts";
import { loadPlan } from "../../server/plan/load.ts";
import { openRaster } from "../../server/raster/index.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import { buildScene } from "../../src/terrain/build-scene.ts";
import { checkAgainstScene } from "../../src/terrain/check-scene.ts";
import type { RasterHandle } from "../../src/terrain/raster.ts";
import { nearestCell, placeOf, type Scene } from "../../src/terrain/scene.ts";
import { projectRoot } from "../support/tools.ts";

const folder = join(projectRoot, "data-samples", "fairground");
let cacheDir: string;
let loaded: LoadedPlan;
let rasters: { ground: RasterHandle[]; surface: RasterHandle[]; canopy: RasterHandle[] };
let scene: Scene;
const layers = fairgroundLayers(SEED);

const bytesOf = (v: Float32Array): Buffer => Buffer.from(v.buffer, v.byteOffset, v.byteLength);

beforeAll(async () => {
  cacheDir = mkdtempSync(join(tmpdir(), "fair-"));
  loaded = await loadPlan(join(folder, "fairground.plan.json"));
  const open = (name: string, use: "ground" | "surface" | "canopy") =>
    openRaster(join(folder, name), {
      name,
      use,
      cacheDir,
      unit: "m",
      ...(use === "canopy" ? {} : { verticalDatum: "navd88" }),
    });
  rasters = {
    ground: [await open("ground.tif", "ground")],
    surface: [await open("surface.tif", "surface")],
    canopy: [await open("canopy.tif", "canopy")],
  };
  scene = await buildScene(loaded, rasters);
});
afterAll(() => rmSync(cacheDir, { recursive: true }));

test("the kept files are those the seeded script makes, and small", async () => {
  const made = fairgroundTexts();
  expect(readdirSync(folder).sort()).toEqual([...Object.keys(made), "canopy.tif", "ground.tif", "surface.tif"].sort());
  for (const name of Object.keys(made)) expect(readFileSync(join(folder, name), "utf8")).toBe(made[name]);
  const bytes = readdirSync(folder).reduce((sum, f) => sum + statSync(join(folder, f)).size, 0);
  expect(bytes).toBeLessThan(8e6);
  // Rasters are compared by their cells: another zlib may pack the same cells into other bytes.
  for (const kind of ["ground", "surface", "canopy"] as const)
    expect(Buffer.compare(bytesOf(await rasters[kind][0]!.read(0, 0, SIDE_M, SIDE_M)), bytesOf(layers[kind]))).toBe(0);
});

describe("the plan", () => {
  test("has what the story needs", () => {
    const { plan, points, parking } = loaded;
    expect(points.features).toHaveLength(14);
    expect(parking.features.map((f) => f.properties.name)).toEqual(["West Field", "Barn Yard", "East Apron"]);
    expect(points.features.filter((f) => f.properties.rung === "must").map((f) => f.properties.code)).toEqual([
      "CP",
      "MD",
      "G1",
      "SA",
    ]);
    expect(plan.satellites?.map((s) => s.longitudeDeg)).toEqual([-101, -83]);
    expect(plan.unit.tipHeightM).toBe(6);
    expect(plan.unit.fuelL! / plan.unit.burnLPerH!).toBe(48);
    expect(loaded.warnings).toEqual([]);
  });
  test("agrees with its ground", () => {
    expect(checkAgainstScene(loaded, scene)).toEqual([]);
    expect(scene.warnings.map((w) => w.code).sort()).toEqual(["terrain.height-assumed", "terrain.height-from-floors"]);
  });
});

describe("the scene", () => {
  test("one metre, all known, in shared memory", () => {
    expect(scene.grid.cellM).toBe(1);
    expect(scene.groundM.every((z) => z > 410 && z < 455)).toBe(true);
    expect(scene.surfaceM.every((z, i) => z >= scene.groundM[i]! - 0.02)).toBe(true);
    expect(scene.groundM.buffer).toBeInstanceOf(SharedArrayBuffer);
    expect(scene.groundPostingM).toBeCloseTo(1, 2);
  });

  test("heights stand where the script put them: UTM metres there, local metres here", () => {
    let worst = 0;
    for (let x = 250; x < 1400; x += 90)
      for (let y = 460; y < 1160; y += 70) {
        const [lng, lat] = lngLat([x, y]);
        const cell = nearestCell(scene.grid, scene.frame.toXY({ lng, lat }));
        if (cell === null) continue;
        const there = scene.frame.toLngLat(placeOf(scene.grid, cell.col, cell.row));
        const at = rasters.ground[0]!.toRaster(there);
        const i = Math.round(at.row) * SIDE_M + Math.round(at.col);
        worst = Math.max(worst, Math.abs(scene.groundM[cell.index]! - layers.ground[i]!));
      }
    // Half a cell off on a slope of fifteen degrees is 0.19 m.
    expect(worst).toBeLessThan(0.25);
  });

  test("the elevator stands 46 m over its foot in surface, bare surface and building index", () => {
    const [lng, lat] = lngLat([647, 700]);
    const cell = nearestCell(scene.grid, scene.frame.toXY({ lng, lat }))!;
    const index = scene.buildingAt![cell.index]!;
    const elevator = scene.buildings[index - 1]!;
    expect(elevator).toMatchObject({ id: "elevator", heightM: 46, heightSource: "measured" });
    expect(scene.surfaceM[cell.index]! - scene.groundM[cell.index]!).toBeGreaterThan(45);
    expect(scene.bareSurfaceM[cell.index]).toBe(scene.surfaceM[cell.index]);
    const cells = [...scene.buildingAt!].filter((k) => k === index).length;
    expect(Math.abs(cells - 16 * 15)).toBeLessThan(12);
  });

  test("trees are in the surface, not in the bare surface", () => {
    let trees = 0;
    let gone = 0;
    for (let i = 0; i < scene.surfaceM.length; i++) {
      if (scene.canopyM![i]! < 6 || scene.buildingAt![i] !== 0) continue;
      trees++;
      if (scene.surfaceM[i]! - scene.groundM[i]! > 5 && scene.bareSurfaceM[i]! - scene.groundM[i]! < 0.5) gone++;
    }
    expect(trees).toBeGreaterThan(5000);
    expect(gone / trees).toBeGreaterThan(0.99);
  });

  test("every building of the script is in the scene with its stated height", () => {
    expect(scene.buildings.filter((b) => !b.temporary)).toHaveLength(BUILDINGS.length);
    for (const b of BUILDINGS) {
      const found = scene.buildings.find((s) => s.id === b.id)!;
      expect(found.heightSource).toBe(b.stated === "none" ? "assumed" : b.stated);
      if (b.stated !== "none") expect(found.heightM).toBeCloseTo(b.heightM, 6);
    }
  });
});
