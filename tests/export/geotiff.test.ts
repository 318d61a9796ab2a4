import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { encodeGeoTiff, encodeRaster, type RasterSpec } from "../../server/export/geotiff.ts";
import { createLocalFrame } from "../../src/geodesy/index.ts";
import { needs } from "../support/tools.ts";

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "tif-"));
});
afterAll(() => rmSync(folder, { recursive: true }));

/** Odd size, more than one tile, voids, heights that show a wrong byte at once. */
function heights(width: number, height: number): Float32Array {
  return Float32Array.from({ length: width * height }, (_, i) => {
    const [c, r] = [i % width, Math.floor(i / width)];
    return (c - 100) ** 2 + (r - 60) ** 2 < 400 ? Number.NaN : 431.5 + 20 * Math.sin(c / 9) + r / 7;
  });
}
const spec = (over: Partial<RasterSpec> = {}): RasterSpec => ({
  width: 301,
  height: 275,
  bands: [{ values: heights(301, 275), name: "ground <bare earth>", unit: "m" }],
  west: -150,
  north: 140,
  cell: 1,
  system: { localOrigin: { lng: -98.497123456789, lat: 41.636987654321 } },
  ...over,
});

function gdal(path: string) {
  const run = spawnSync("gdalinfo", ["-json", "-stats", "--config", "GDAL_PAM_ENABLED", "NO", path], {
    encoding: "utf8",
    timeout: 30_000,
  });
  expect(run.stderr).toBe("");
  return JSON.parse(run.stdout) as {
    size: [number, number];
    geoTransform: number[];
    coordinateSystem: { wkt: string };
    bands: {
      type: string;
      noDataValue?: number;
      description?: string;
      unit?: string;
      minimum: number;
      maximum: number;
      metadata: Record<string, Record<string, string>>;
    }[];
    wgs84Extent: { coordinates: [number, number][][] };
  };
}
const save = (path: string, what: RasterSpec): void => writeFileSync(path, encodeRaster(what));
/** Values as GDAL reads them, by column and row. */
function values(path: string, cells: [number, number][]): number[] {
  const run = spawnSync("gdallocationinfo", ["-valonly", path], {
    input: cells.map((c) => c.join(" ")).join("\n"),
    encoding: "utf8",
    timeout: 30_000,
  });
  return run.stdout.trim().split("\n").map(Number);
}

describe.runIf(needs("gdalinfo"))("GDAL reads back", () => {
  test("floats in the local frame: system, place, nodata, every sampled value", async () => {
    const path = join(folder, "local.tif");
    save(path, spec());
    const info = gdal(path);
    expect(info.size).toEqual([301, 275]);
    expect(info.geoTransform).toEqual([-150, 1, 0, 140, 0, -1]);
    const wkt = info.coordinateSystem.wkt.replace(/\s+/g, "");
    expect(wkt).toContain('METHOD["TransverseMercator",ID["EPSG",9807]]');
    expect(wkt).toContain('PARAMETER["Latitudeofnaturalorigin",41.636987654321,');
    expect(wkt).toContain('PARAMETER["Longitudeofnaturalorigin",-98.497123456789,');
    expect(wkt).toContain('PARAMETER["Scalefactoratnaturalorigin",1,');
    expect(wkt).toContain('DATUM["WorldGeodeticSystem1984",');
    const [band] = info.bands;
    expect(band).toMatchObject({ type: "Float32", noDataValue: -9999, description: "ground <bare earth>", unit: "m" });
    const all = spec().bands[0]!.values;
    const valid = all.filter((z) => !Number.isNaN(z)).length;
    expect(Number(band!.metadata[""]!.STATISTICS_VALID_PERCENT)).toBeCloseTo((100 * valid) / all.length, 1);
    const cells = Array.from({ length: 400 }, (_, i): [number, number] => [(i * 37) % 301, (i * 53) % 275]);
    const want = cells.map(([c, r]) => all[r * 301 + c]!);
    values(path, cells).forEach((z, i) => {
      expect(z).toBeCloseTo(Number.isNaN(want[i]!) ? -9999 : want[i]!, 4);
    });
  });

  test("a plan's grid with two bands, each with its own name and valid count", () => {
    const path = join(folder, "bands.tif");
    const grid = { westM: -150, northM: 140, cellM: 2, cols: 301, rows: 275 };
    const reason = Float32Array.from({ length: 301 * 275 }, (_, i) => i % 9);
    const bands = [
      { name: "score 0-100", values: heights(301, 275) },
      { name: "reason", values: reason },
    ];
    writeFileSync(path, encodeGeoTiff({ grid, origin: { lng: -98.5, lat: 41.6 }, bands }));
    const info = gdal(path);
    expect(info.geoTransform).toEqual([-150, 2, 0, 140, 0, -2]);
    expect(info.bands.map((b) => b.description)).toEqual(["score 0-100", "reason"]);
    expect(info.bands[1]).toMatchObject({ minimum: 0, maximum: 8 });
    expect(info.bands[1]!.metadata[""]!.STATISTICS_VALID_PERCENT).toBe("100");
    expect(values(path, [[300, 274]]).slice(-1)).toEqual([reason.at(-1)]);
  });

  test("the corner GDAL computes is the corner our frame computes, to a centimetre", async () => {
    const path = join(folder, "corner.tif");
    const origin = { lng: -98.497123456789, lat: 41.636987654321 };
    save(path, spec({ west: -20_000, north: 15_000, cell: 100 }));
    const corner = gdal(path).wgs84Extent.coordinates[0]![0]!;
    const ours = createLocalFrame(origin).toLngLat({ xM: -20_000, yM: 15_000 });
    expect(corner[0]).toBeCloseTo(ours.lng, 6);
    expect(corner[1]).toBeCloseTo(ours.lat, 6);
  });

  test("integers and bytes, EPSG systems, a vertical system", async () => {
    const utm = join(folder, "utm.tif");
    const samples = Int16Array.from({ length: 300 * 300 }, (_, i) => ((i * 7919) % 65_536) - 32_768);
    save(
      utm,
      spec({
        width: 300,
        height: 300,
        bands: [{ values: samples }],
        system: { epsg: 32614 },
        verticalEpsg: 5703,
        west: 541_200,
        north: 4_610_450,
      }),
    );
    const info = gdal(utm);
    expect(info.coordinateSystem.wkt).toContain("WGS 84 / UTM zone 14N");
    expect(info.coordinateSystem.wkt).toContain("NAVD88 height");
    expect(info.bands[0]!.noDataValue).toBeUndefined();
    const cells = Array.from({ length: 300 }, (_, i): [number, number] => [i, (i * 11) % 300]);
    expect(values(utm, cells)).toEqual(cells.map(([c, r]) => samples[r * 300 + c]));

    const bytes = join(folder, "bytes.tif");
    const classes = Uint8Array.from({ length: 60 * 40 }, (_, i) => (i * 31) % 256);
    save(
      bytes,
      spec({
        width: 60,
        height: 40,
        bands: [{ values: classes }],
        system: { epsg: 4326, geographic: true },
        west: -98.5,
        north: 41.6,
        cell: 1e-4,
        nodata: 255,
      }),
    );
    const geo = gdal(bytes);
    expect(geo.coordinateSystem.wkt).toMatch(/^GEOGCRS\["WGS 84"/);
    expect(geo.bands[0]).toMatchObject({ type: "Byte", noDataValue: 255 });
    const some = Array.from({ length: 60 }, (_, i): [number, number] => [i, i % 40]);
    expect(values(bytes, some)).toEqual(some.map(([c, r]) => classes[r * 60 + c]));
  });
});

test("same values, same bytes", () => {
  expect(encodeRaster(spec())).toEqual(encodeRaster(spec()));
});

test("a height that equals the nodata value, values that do not fit", () => {
  const low = { values: new Float32Array(301 * 275).fill(431.5) };
  expect(() => encodeRaster(spec({ nodata: 431.5, bands: [low] }))).toThrow(/nodata/);
  expect(() => encodeRaster(spec({ width: 300 }))).toThrow(/do not fit/);
  expect(() => encodeRaster(spec({ bands: [low, { values: new Uint8Array(301 * 275) }] }))).toThrow(/one another/);
});
