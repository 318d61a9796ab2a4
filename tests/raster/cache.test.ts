import { spawn } from "node:child_process";
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { describeRaster, openRaster } from "../../server/raster/index.ts";
import type { HardstandError } from "../../src/errors/index.ts";
import { hasShared, projectRoot, shared } from "../support/tools.ts";
import { scratch } from "./support.ts";

const dir = scratch();
afterAll(() => rmSync(dir, { recursive: true, force: true }));
/** Byte equality: a matcher over a million floats takes seconds. */
const same = (a: Float32Array, b: Float32Array): boolean => Buffer.from(a.buffer).equals(Buffer.from(b.buffer));
const cacheFiles = (folder: string): string[] => readdirSync(folder).sort();
const code = async (job: Promise<unknown>): Promise<string> =>
  job.then(
    () => "none",
    (e: unknown) => (e as HardstandError).code,
  );

describe.skipIf(!hasShared())("cache", () => {
  const storm = shared("terrain", "encodings", "storm_lake_deflate_pred2.tif");
  const cog = shared("terrain", "srtm1_N48W125_cog.tif");

  test("two builds of the same raster are the same bytes, whatever its name", async () => {
    const [a, b] = [join(dir, "a"), join(dir, "b")];
    const other = join(dir, "other-name.tif");
    copyFileSync(storm, other);
    await openRaster(storm, { cacheDir: a });
    await openRaster(other, { cacheDir: b });
    expect(cacheFiles(a)).toEqual(cacheFiles(b));
    expect(readFileSync(join(a, cacheFiles(a)[0]!)).equals(readFileSync(join(b, cacheFiles(b)[0]!)))).toBe(true);
    expect(cacheFiles(a)).toHaveLength(1);
  });

  test("a damaged cache is built again, wherever the damage lies", async () => {
    const folder = join(dir, "damaged");
    const raster = await openRaster(storm, { cacheDir: folder });
    const want = await raster.read(0, 0, raster.width, raster.height);
    const file = join(folder, cacheFiles(folder)[0]!);
    const whole = readFileSync(file);
    const damages: ((b: Buffer) => Buffer)[] = [
      (b) => b.subarray(0, b.length - 7),
      (b) => b.subarray(0, 10),
      (_b) => Buffer.alloc(0),
      (b) => {
        b[1000]! ^= 4; // a height
        return b;
      },
      (b) => {
        b[b.length - 100]! ^= 1; // the description
        return b;
      },
      (b) => Buffer.concat([b, Buffer.of(0)]),
    ];
    for (const damage of damages) {
      writeFileSync(file, damage(Buffer.from(whole)));
      const again = await openRaster(storm, { cacheDir: folder });
      expect(same(await again.read(0, 0, again.width, again.height), want)).toBe(true);
      expect(readFileSync(file).equals(whole)).toBe(true);
    }
  });

  test("a handle outlives its cache file", async () => {
    const folder = join(dir, "dropped");
    const raster = await openRaster(storm, { cacheDir: folder });
    rmSync(folder, { recursive: true });
    expect((await raster.read(0, 0, 1, 1))[0]).toBe(2450);
  });

  test("unit and content are part of the key", async () => {
    const folder = join(dir, "keys");
    const metres = await openRaster(storm, { cacheDir: folder });
    const feet = await openRaster(storm, { cacheDir: folder, unit: "ft" });
    expect((await feet.read(0, 0, 1, 1))[0]).toBeCloseTo(2450 * 0.3048, 3);
    expect((await metres.read(0, 0, 1, 1))[0]).toBe(2450);
    expect(cacheFiles(folder)).toHaveLength(2);
  });

  test("four processes importing one raster at once all get it, and leave one file", async () => {
    const folder = join(dir, "race");
    const script = `import { openRaster } from ${JSON.stringify(join(projectRoot, "server/raster/index.ts"))};
      const r = await openRaster(${JSON.stringify(storm)}, { cacheDir: ${JSON.stringify(folder)} });
      console.log((await r.read(10, 10, 1, 1))[0]);`;
    const file = join(dir, "race.mts");
    writeFileSync(file, script);
    const outs = await Promise.all(
      Array.from(
        { length: 4 },
        () =>
          new Promise<string>((resolve) => {
            const child = spawn(process.execPath, ["--import", "tsx", file], { cwd: projectRoot });
            let out = "";
            child.stdout.on("data", (c) => {
              out += c;
            });
            child.on("close", () => resolve(out.trim()));
          }),
      ),
    );
    expect(new Set(outs).size).toBe(1);
    expect(outs[0]).toMatch(/^\d+$/);
    expect(cacheFiles(folder)).toHaveLength(1);
  });

  test("over its size limit the cache drops the least recently used", async () => {
    const folder = join(dir, "limit");
    process.env.HARDSTAND_CACHE_MB = "0.6";
    try {
      await openRaster(storm, { cacheDir: folder });
      const first = cacheFiles(folder)[0]!;
      expect(statSync(join(folder, first)).size).toBeGreaterThan(250_000);
      await openRaster(storm, { cacheDir: folder, unit: "ft" });
      await openRaster(storm, { cacheDir: folder, unit: "us-ft" });
      expect(cacheFiles(folder)).toHaveLength(2);
      expect(existsSync(join(folder, first))).toBe(false);
    } finally {
      delete process.env.HARDSTAND_CACHE_MB;
    }
  });

  test("progress rises to one; cancelling ends with its own code and leaves nothing behind", async () => {
    const folder = join(dir, "progress");
    const shares: number[] = [];
    await openRaster(cog, { cacheDir: folder, onProgress: (s) => shares.push(s) });
    expect(shares.length).toBeGreaterThan(3);
    expect([...shares].sort((a, b) => a - b)).toEqual(shares);
    expect(shares.at(-1)).toBe(1);
    const stop = new AbortController();
    const other = join(dir, "cancelled");
    const job = openRaster(cog, { cacheDir: other, signal: stop.signal, onProgress: () => stop.abort() });
    expect(await code(job)).toBe("run.cancelled");
    expect(cacheFiles(other)).toEqual([]);
  });

  test("windows: outside is void, edges join, overviews are maxima that ignore voids", async () => {
    const raster = await openRaster(shared("terrain", "mt_hood_elev_30m_utm10.tif"), { cacheDir: join(dir, "w") });
    const out = await raster.read(-2, -2, 2, 2);
    expect([...out].every(Number.isNaN)).toBe(true);
    const whole = await raster.read(0, 0, raster.width, raster.height);
    const part = await raster.read(250, 250, 300, 20);
    for (let r = 0; r < 20; r++)
      expect(part.subarray(r * 300, (r + 1) * 300)).toEqual(
        whole.subarray((250 + r) * raster.width + 250, (250 + r) * raster.width + 550),
      );
    expect(raster.overviewFactors).toEqual([2, 4]);
    await expect(raster.read(0, 0, 1, 1, 3)).rejects.toThrow("no overview of factor 3");
  });

  test("missing files, folders and unwritable caches end clearly", async () => {
    expect(await code(openRaster(join(dir, "nothing.tif"), { cacheDir: dir }))).toBe("file.missing");
    expect(await code(openRaster(dir, { cacheDir: dir }))).toBe("file.unreadable");
    const blocked = join(dir, "blocked");
    writeFileSync(blocked, "a file, not a folder");
    expect(await code(openRaster(storm, { cacheDir: join(blocked, "cache") }))).toBe("file.write-failed");
  });
});

describe.skipIf(!hasShared())("SRTM height files", () => {
  const hgt = shared("terrain", "hgt", "N42E001.hgt");
  const zips = join(dir, "zips");
  beforeAll(async () => {
    mkdirSync(zips, { recursive: true });
    const { zipSync } = await import("fflate");
    const bytes = new Uint8Array(readFileSync(hgt));
    writeFileSync(join(zips, "N42E001.hgt.zip"), zipSync({ "N42E001.hgt": bytes }));
    writeFileSync(
      join(zips, "N42E001.zip"),
      zipSync({ "readme.txt": new Uint8Array(3), "in/N42E001.hgt": [bytes, { level: 0 }] }),
    );
    writeFileSync(join(zips, "none.zip"), zipSync({ "readme.txt": new Uint8Array(3) }));
    const damaged = zipSync({ "N42E001.hgt": bytes });
    damaged[500_000]! ^= 8;
    writeFileSync(join(zips, "damaged.zip"), damaged);
    writeFileSync(join(zips, "cut.zip"), zipSync({ "N42E001.hgt": bytes }).subarray(0, 400_000));
    // A Southern and Western name with made heights: column number + 2 × row number, void in one corner.
    const made = Buffer.alloc(2 * 1201 * 1201);
    for (let r = 0; r < 1201; r++) for (let c = 0; c < 1201; c++) made.writeInt16BE(c + 2 * r, 2 * (r * 1201 + c));
    made.writeInt16BE(-32768, 0);
    writeFileSync(join(zips, "S34W071.hgt"), made);
  });

  test.each(["N42E001.hgt.zip", "N42E001.zip"])("%s reads as the raw file does", async (name) => {
    const raw = await openRaster(hgt, { cacheDir: join(dir, "h") });
    const zipped = await openRaster(join(zips, name), { cacheDir: join(dir, "h") });
    expect(zipped.bounds).toEqual(raw.bounds);
    expect(same(await zipped.read(0, 0, 1201, 1201), await raw.read(0, 0, 1201, 1201))).toBe(true);
  });

  test("south and west names place the tile, edge samples on whole degrees", async () => {
    const tile = await openRaster(join(zips, "S34W071.hgt"), { cacheDir: join(dir, "h") });
    expect(tile.toLngLat(0, 1200).lng).toBeCloseTo(-71, 10);
    expect(tile.toLngLat(0, 1200).lat).toBeCloseTo(-34, 10);
    expect(tile.toLngLat(1200, 0).lat).toBeCloseTo(-33, 10);
    expect((await tile.read(0, 0, 1, 1))[0]).toBeNaN();
    expect((await tile.read(7, 5, 1, 1))[0]).toBe(17);
    expect(tile.verticalDatum).toBe("egm96");
  });

  test("archives without a tile, damaged or cut off are refused", async () => {
    const open = (name: string): Promise<string> => code(openRaster(join(zips, name), { cacheDir: join(dir, "h") }));
    expect(await open("none.zip")).toBe("terrain.not-a-raster");
    expect(await open("damaged.zip")).toBe("terrain.corrupt");
    expect(await open("cut.zip")).toBe("terrain.corrupt");
  });
});

describe.skipIf(!hasShared())("describeRaster", () => {
  const cacheDir = join(dir, "describe");
  test("feet are told as feet and answered in metres", async () => {
    const answer = await describeRaster(shared("terrain", "mt_hood_elev_stateplane_ft.tif"), { cacheDir });
    expect(answer).toMatchObject({
      kind: "elevation",
      crs: "EPSG:2269",
      unit: "ft",
      unitSource: "declared",
      verticalDatum: "navd88",
      verticalDatumSource: "declared",
      nodata: -9999,
      cell: [100, -100],
    });
    // gdalinfo: 2600.9 to 11220.3 feet.
    expect(answer.min).toBeCloseTo(2600.9 * 0.3048, 1);
    expect(answer.max).toBeCloseTo(11220.3 * 0.3048, 1);
  });

  test("class codes and rain are described, not taken for heights", async () => {
    const fuel = await describeRaster(shared("terrain", "mt_hood_landcover_fbfm40_30m_utm10.tif"), { cacheDir });
    expect(fuel).toMatchObject({ kind: "land-cover", min: 91, max: 201, unit: "unknown" });
    const cover = await describeRaster(shared("terrain", "zion_nlcd_landcover.tif"), { cacheDir });
    expect(cover).toMatchObject({ kind: "land-cover", min: 1, max: 8 });
    const rain = await describeRaster(shared("terrain", "southup_grid_not_elevation.tif"), { cacheDir });
    expect(rain).toMatchObject({ kind: "not-elevation", nodata: "nan" });
    expect(rain.cell[1]).toBeGreaterThan(0);
    expect(rain.warnings.map((w) => w.code)).toContain("kind");
  });

  test("samples are bilinear between centres and null over voids", async () => {
    const path = shared("terrain", "hgt", "N42E001.hgt");
    const raster = await openRaster(path, { cacheDir });
    const q = await raster.read(600, 600, 2, 1);
    const mid = raster.toLngLat(600.25, 600);
    const answer = await describeRaster(path, { cacheDir, at: [mid, { lng: 10, lat: 10 }] });
    expect(answer.samples![0]!.heightM).toBeCloseTo(q[0]! * 0.75 + q[1]! * 0.25, 3);
    expect(answer.samples![1]!.heightM).toBeNull();
    expect(answer.kind).toBe("surface");
  });
});
