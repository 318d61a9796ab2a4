import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import * as downtown from "../../data-samples/make-downtown.ts";
import * as hills from "../../data-samples/make-hills.ts";
import { checkAgainstScene, loadPlan } from "../../server/plan/load.ts";
import { openRaster } from "../../server/raster/index.ts";
import { serializePlan } from "../../src/plan/parse.ts";
import { buildScene } from "../../src/terrain/build-scene.ts";
import { localPolygons } from "../../src/terrain/buildings.ts";
import { footprintCells } from "../../src/terrain/footprint.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import { projectRoot } from "../support/tools.ts";

let cacheDir: string;
beforeAll(() => {
  cacheDir = mkdtempSync(join(tmpdir(), "samples-"));
});
afterAll(() => rmSync(cacheDir, { recursive: true }));

async function open(name: string) {
  const folder = join(projectRoot, "data-samples", name);
  const loaded = await loadPlan(join(folder, `${name}.plan.json`));
  const raster = async (use: "ground" | "surface" | "canopy") =>
    existsSync(join(folder, `${use}.tif`))
      ? [
          await openRaster(join(folder, `${use}.tif`), {
            name: `${use}.tif`,
            use,
            cacheDir,
            unit: "m",
            verticalDatum: use === "canopy" ? undefined : "navd88",
          }),
        ]
      : [];
  const rasters = { ground: await raster("ground"), surface: await raster("surface"), canopy: await raster("canopy") };
  const scene = await buildScene(loaded, rasters);
  expect(checkAgainstScene(loaded, scene)).toEqual([]);
  expect(loaded.warnings).toEqual([]);
  return { folder, loaded, rasters, scene };
}

const bytesOf = (v: Float32Array): Buffer => Buffer.from(v.buffer, v.byteOffset, v.byteLength);

/** Share of an area that is level enough (5° between neighbours) and free of anything half a metre high. */
function usable(scene: Scene, geometry: { type: string; coordinates: unknown }): number {
  const { cols, cellM } = scene.grid;
  const cells = footprintCells(scene.grid, localPolygons(scene.frame, geometry));
  const good = cells.filter((i) => {
    const dx = (scene.groundM[i + 1]! - scene.groundM[i - 1]!) / (2 * cellM);
    const dy = (scene.groundM[i + cols]! - scene.groundM[i - cols]!) / (2 * cellM);
    return Math.hypot(dx, dy) < Math.tan((5 * Math.PI) / 180) && scene.surfaceM[i]! - scene.groundM[i]! < 0.5;
  });
  return good.length / cells.length;
}

test("hills: four staging areas, two routes, two units; the kept files are the script's", async () => {
  const { folder, loaded, rasters, scene } = await open("hills");
  expect(readFileSync(join(folder, "hills.plan.json"), "utf8")).toBe(serializePlan(hills.hillsPlan()));
  const made = hills.hillsLayers(hills.SEED);
  for (const kind of ["ground", "canopy"] as const) {
    const { width, height } = rasters[kind][0]!;
    expect(Buffer.compare(bytesOf(await rasters[kind][0]!.read(0, 0, width, height)), bytesOf(made[kind]))).toBe(0);
  }
  const kinds = loaded.points.features.map((f) => f.geometry.type);
  expect(kinds.filter((k) => k === "Polygon")).toHaveLength(4);
  expect(kinds.filter((k) => k === "LineString")).toHaveLength(2);
  expect(loaded.plan.search?.unitCount).toBe(2);
  for (const f of loaded.parking.features) expect(usable(scene, f.geometry)).toBeGreaterThan(0.9);
  // Hills that a six-metre mast does not see over: that is what two units are for.
  const relief = scene.groundM.reduce((a, b) => Math.max(a, b)) - scene.groundM.reduce((a, b) => Math.min(a, b));
  expect(relief).toBeGreaterThan(80);
  expect(scene.warnings.map((w) => w.code)).toEqual(["terrain.no-buildings"]);
});

test("downtown: houses, roofs and a plaza; the kept files are the script's", async () => {
  const { folder, loaded, rasters, scene } = await open("downtown");
  expect(readFileSync(join(folder, "downtown.plan.json"), "utf8")).toBe(
    serializePlan(downtown.downtownPlan(downtown.SEED)),
  );
  expect(readFileSync(join(folder, "buildings.geojson"), "utf8")).toBe(
    `${JSON.stringify(downtown.downtownBuildings(downtown.SEED))}\n`,
  );
  const made = downtown.downtownLayers(downtown.SEED);
  for (const kind of ["ground", "surface", "canopy"] as const) {
    const { width, height } = rasters[kind][0]!;
    expect(Buffer.compare(bytesOf(await rasters[kind][0]!.read(0, 0, width, height)), bytesOf(made[kind]))).toBe(0);
  }
  expect(scene.grid.cellM).toBe(0.5);
  expect(scene.buildings.length).toBeGreaterThan(200);
  expect(scene.buildings.some((b) => b.name === "Hall A" && b.heightM >= 20)).toBe(true);
  expect(loaded.plan.unit.dish?.apart).toBe(true);
  for (const f of loaded.parking.features) expect(usable(scene, f.geometry)).toBeGreaterThan(0.8);
  expect(scene.warnings).toEqual([]);
});
