import { rmSync } from "node:fs";
import { basename, join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import { openRaster } from "../../server/raster/index.ts";
import { HardstandError } from "../../src/errors/index.ts";
import { METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT } from "../../src/units/index.ts";
import { available, hasCommand, hasShared } from "../support/tools.ts";
import { compareWithGdal, gdalViews, goodRasters, makeRasters, scratch } from "./support.ts";

const withGdal = available("GDAL (gdalinfo)", hasCommand("gdalinfo"));
const dir = scratch();
const cacheDir = join(dir, "cache");
afterAll(() => rmSync(dir, { recursive: true, force: true }));

describe.skipIf(!withGdal || !hasShared())("outside rasters give GDAL's heights at GDAL's places", () => {
  const views = withGdal && hasShared() ? gdalViews(1000, goodRasters()) : [];
  test.each(views.map((v) => [basename(v.path), v] as const))("%s", async (name, view) => {
    // NAD27 and the private unit of one test file aside, every place is GDAL's to a hundredth of a cell.
    const shiftM = name.startsWith("tiff_vertcs") ? 25 : name.startsWith("epsg_2853") ? 1 : 0;
    await compareWithGdal(view, cacheDir, { shiftM, metresPer: view.unit === "ft" ? METRES_PER_FOOT : 1 });
  });
});

describe.skipIf(!withGdal)("the same terrain in many encodings", () => {
  const made = withGdal ? makeRasters(dir) : {};
  const path = (name: string): string => join(dir, name);
  const read = Object.keys(made).filter((n) => ["reads", "lossy", "feet", "us-feet"].includes(made[n]!));
  const views = withGdal ? gdalViews(200, read.map(path)) : [];

  test.each(views.map((v) => [basename(v.path), v] as const))("%s", async (name, view) => {
    const what = made[name];
    await compareWithGdal(view, cacheDir, {
      metresPer: what === "feet" ? METRES_PER_FOOT : what === "us-feet" ? METRES_PER_US_SURVEY_FOOT : 1,
    });
  });

  const refused = Object.entries(made).filter(([, what]) => what.startsWith("terrain."));
  test.each(refused)("%s is refused with %s", async (name, code) => {
    const error = await openRaster(path(name), { cacheDir }).catch((e: unknown) => e);
    expect(error).toBeInstanceOf(HardstandError);
    expect((error as HardstandError).body).toMatchObject({ code, where: name });
    expect((error as HardstandError).body.hint).not.toBe("");
  });

  test("an undeclared void far below the ground is void, and said", async () => {
    const raster = await openRaster(path("undeclared_void.tif"), { cacheDir });
    expect((await raster.read(60, 40, 1, 1))[0]).toBeNaN();
    expect(raster.warnings.map((w) => w.code)).toContain("out-of-range");
  });

  test("a raster across the antimeridian has one extent and finds places on both sides", async () => {
    const raster = await openRaster(path("antimeridian.tif"), { cacheDir });
    expect(raster.bounds[0]).toBeCloseTo(179.98, 6);
    expect(raster.bounds[2]).toBeCloseTo(179.98 + 157 * 0.0003, 6);
    const west = raster.toRaster({ lng: 179.99, lat: -16.01 });
    const east = raster.toRaster({ lng: -179.99, lat: -16.01 });
    expect(east.col - west.col).toBeCloseTo(0.02 / 0.0003, 6);
    expect(raster.toLngLat(156, 0).lng).toBeLessThan(0);
  });
});
