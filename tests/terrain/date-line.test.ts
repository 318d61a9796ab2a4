import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { encodeRaster } from "../../server/export/geotiff.ts";
import { openRaster } from "../../server/raster/index.ts";
import { geodesicInverse } from "../../src/geodesy/index.ts";
import { buildScene } from "../../src/terrain/build-scene.ts";
import { checkAgainstScene } from "../../src/terrain/check-scene.ts";
import { nearestCell } from "../../src/terrain/scene.ts";
import { put, smallPlan } from "../support/plan-fixture.ts";
import { loadedPlan } from "../support/scene-fixture.ts";

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "line-"));
});
afterAll(() => rmSync(folder, { recursive: true }));

/** Heights that tell the column, so that a cell in the wrong place shows. */
const byColumn = (width: number, height: number): Float32Array =>
  Float32Array.from({ length: width * height }, (_, i) => i % width);

const plan = () => {
  const p = smallPlan();
  put(p, ["points", "features", 0, "geometry", "coordinates"], [179.998, -16.8]);
  put(p, ["points", "features", 1, "geometry", "coordinates"], [-179.997, -16.801]);
  put(
    p,
    ["parking", "features", 0, "geometry", "coordinates", 0],
    [
      [179.999, -16.802],
      [179.9995, -16.802],
      [179.9995, -16.8015],
      [179.999, -16.8015],
      [179.999, -16.802],
    ],
  );
  return p;
};

test.each([
  // Zone 60 south reaches east over the line; its easting of 180° at 16.8° S is 819,789 m (PROJ 9.1.1 cs2cs).
  ["UTM zone 60 south", { epsg: 32760 }, 815_000, 8_144_000, 5, 2000, 1600],
  ["degrees running past 180", { epsg: 4326, geographic: true }, 179.98, -16.78, 1e-4, 400, 400],
] as const)(
  "a plan on both sides of the date line, raster in %s",
  async (_, system, west, north, cell, width, height) => {
    const path = join(folder, `${"epsg" in system ? system.epsg : 0}.tif`);
    writeFileSync(
      path,
      encodeRaster({ width, height, bands: [{ values: byColumn(width, height) }], west, north, cell, system }),
    );
    const raster = await openRaster(path, { unit: "m", cacheDir: join(folder, "cache") });
    const loaded = loadedPlan(plan());
    const scene = await buildScene(loaded, { ground: [raster], surface: [], canopy: [] });
    expect(scene.grid.cols * scene.grid.cellM).toBeLessThan(4000);
    const [a, b] = [
      { lng: 179.998, lat: -16.8 },
      { lng: -179.997, lat: -16.801 },
    ];
    const at = [a, b].map((p) => scene.frame.toXY(p));
    const straight = Math.hypot(at[0]!.xM - at[1]!.xM, at[0]!.yM - at[1]!.yM);
    expect(Math.abs(straight / geodesicInverse(a, b).distanceM - 1)).toBeLessThan(1e-4);
    for (const p of [a, b]) {
      const cell = nearestCell(scene.grid, scene.frame.toXY(p))!;
      const { col } = raster.toRaster(p);
      // The nearest grid cell's centre is at most 0.71 of its side away, and the grid's cell is the raster's smaller side.
      expect(Math.abs(scene.groundM[cell.index]! - col)).toBeLessThan(0.75);
      expect(col).toBeGreaterThan(0);
      expect(col).toBeLessThan(width);
    }
    expect(checkAgainstScene(loaded, scene)).toEqual([]);
  },
);
