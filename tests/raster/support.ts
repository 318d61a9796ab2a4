import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect } from "vitest";
import { openRaster } from "../../server/raster/index.ts";
import { sampleWindow } from "../../src/terrain/sample.ts";
import { shared } from "../support/tools.ts";

export const scratch = (): string => mkdtempSync(join(tmpdir(), "hs-raster-"));

/** Rasters of the reference folder that hold heights and are to be read. */
export function goodRasters(): string[] {
  const list = (dir: string): string[] =>
    readdirSync(shared("terrain", dir))
      .filter((f) => /\.(tif|hgt)$/.test(f))
      .map((f) => shared("terrain", dir, f));
  return [...list("."), ...list("encodings"), ...list("hgt")].filter(
    (f) => !/landcover|not_elevation|lzma|no_georeference/.test(f),
  );
}

export interface GdalView {
  path: string;
  width: number;
  height: number;
  unit: string;
  extent: [number, number, number, number];
  cell: [number, number];
  valid: number;
  /** col, row (settled), place in the cell, lng, lat, cell height, bilinear height. */
  places: [number, number, number, number, number, number, number | null, number | null][];
  overviews: { width: number; height: number; cells: [number, number, number | null][] }[];
  pooled: { factor: number; width: number; height: number; cells: [number, number, number | null][] }[];
  gdalBilinear: { checked: number; worst: number };
}

/** What GDAL reads in these files, `count` places each. */
export function gdalViews(count: number, paths: string[]): GdalView[] {
  const run = spawnSync("/usr/bin/python3", [join(import.meta.dirname, "gdal_values.py"), String(count), ...paths], {
    encoding: "utf8",
    maxBuffer: 1e9,
  });
  if (run.status !== 0) throw new Error(run.stderr);
  return run.stdout
    .trim()
    .split("\n")
    .map((line) => JSON.parse(line) as GdalView);
}

/** Writes the rasters of gdal_make.py into a folder; answers what each is for. */
export function makeRasters(dir: string): Record<string, string> {
  const run = spawnSync("/usr/bin/python3", [join(import.meta.dirname, "gdal_make.py"), dir], { encoding: "utf8" });
  if (run.status !== 0) throw new Error(run.stderr);
  return JSON.parse(run.stdout.trim().split("\n").pop()!) as Record<string, string>;
}

/**
 * Compares one raster, read through the cache, with GDAL's view of it.
 * @param metresPer  metres of the file's height unit
 * @param slack      tolerance for one height in the file's unit, beyond float32 rounding
 * @param shiftM     how far places may differ because the datum shift is stated to be a rough one
 */
export async function compareWithGdal(
  view: GdalView,
  cacheDir: string,
  { metresPer = 1, slack = 0, shiftM = 0 } = {},
): Promise<void> {
  const raster = await openRaster(view.path, { cacheDir, use: "any" });
  expect([raster.width, raster.height]).toEqual([view.width, view.height]);
  const all = await raster.read(0, 0, raster.width, raster.height);
  expect(all.reduce((n, v) => n + (Number.isNaN(v) ? 0 : 1), 0)).toBe(view.valid);
  const wrong: unknown[] = [];
  const near = (got: number, want: number | null): boolean =>
    want === null
      ? Number.isNaN(got)
      : Math.abs(got - want * metresPer) <= slack * metresPer + 2e-7 * Math.abs(want * metresPer) + 1e-6;
  const smallest = Math.min(...raster.cellM);
  for (const [col, row, fx, fy, lng, lat, value, bilinear] of view.places) {
    const at = raster.toRaster({ lng, lat });
    const off = Math.max(Math.abs(at.col - (col + fx - 0.5)), Math.abs(at.row - (row + fy - 0.5)));
    if (off > 0.01 + shiftM / smallest) wrong.push({ what: "place", col, row, at, off });
    const own = (await raster.read(col, row, 1, 1))[0]!;
    if (!near(own, value)) wrong.push({ what: "cell", col, row, own, value });
    if (shiftM > 0) continue;
    const c = Math.min(Math.max(at.col, 0), raster.width - 1);
    const r = Math.min(Math.max(at.row, 0), raster.height - 1);
    const got = sampleWindow(all, raster.width, c, r);
    // A hundredth of a cell in place is worth a hundredth of the local step in height.
    if (bilinear !== null && Number.isFinite(got)) {
      const q = await raster.read(Math.floor(c), Math.floor(r), 2, 2);
      const some = q.filter((v) => !Number.isNaN(v));
      const step = Math.max(...some) - Math.min(...some);
      if (Math.abs(got - bilinear * metresPer) > 0.02 * step + slack * metresPer + 1e-3)
        wrong.push({ what: "between", col, row, got, bilinear });
    } else if (bilinear !== null && fx !== 0.5 && !(at.col < 0 || at.row < 0 || c !== at.col || r !== at.row))
      wrong.push({ what: "void between", col, row });
  }
  expect(wrong.slice(0, 5)).toEqual([]);
  for (const p of view.pooled) {
    if (!raster.overviewFactors.includes(p.factor)) continue;
    for (const [col, row, value] of p.cells) {
      const own = (await raster.read(col, row, 1, 1, p.factor))[0]!;
      if (!near(own, value)) wrong.push({ what: `overview ${p.factor}`, col, row, own, value });
    }
  }
  expect(wrong.slice(0, 5)).toEqual([]);
}
