import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { crsOfCode } from "../../src/terrain/reader/crs.ts";
import { crsFunctions } from "../../src/terrain/reader/crs-functions.ts";
import { crsRow, MADE_CODES } from "../../src/terrain/reader/crs-table.ts";
import { METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT } from "../../src/units/index.ts";
import { needs } from "../support/tools.ts";

type Point = [lng: number, lat: number, x: number, y: number, toleranceM: number];

// PROJ 9.1.1 (Debian 12), coordinates from longitude and latitude on WGS 84; see the file's own source line.
const reference = (
  JSON.parse(readFileSync(join(import.meta.dirname, "../reference/proj-9.1.1/crs-points.json"), "utf8")) as {
    points: Record<string, Point[]>;
  }
).points;

test("every row of the table gives PROJ's coordinates, both ways", () => {
  const wrong: unknown[] = [];
  for (const code of MADE_CODES) {
    const points = reference[code];
    if (points === undefined) {
      wrong.push(`no reference for EPSG:${code}`);
      continue;
    }
    const info = crsOfCode("t", code, []);
    const f = crsFunctions(info);
    for (const [lng, lat, x, y, tolerance] of points) {
      const [px, py] = f.fromLngLat(lng, lat);
      const offM = Math.hypot(px - x, py - y) * info.unitM;
      const [bl, bb] = f.toLngLat(x, y);
      const backM = Math.hypot((bl - lng) * Math.cos((lat * Math.PI) / 180), bb - lat) * 111_320;
      // Reference coordinates are rounded to 0.1 mm of their unit.
      if (!(offM <= tolerance && backM <= tolerance + 0.002)) wrong.push({ code, offM, backM, tolerance });
    }
  }
  expect(MADE_CODES.length).toBeGreaterThan(2000);
  expect(wrong.slice(0, 10)).toEqual([]);
});

test("a row that is not verified, or is off by more than a metre, says so", () => {
  for (const code of MADE_CODES)
    if (reference[code]!.some((p) => p[4] > 1)) expect(crsRow(code)!.verified, `EPSG:${code}`).toBe(false);
  const warnings: { code: string; text: string }[] = [];
  expect(crsOfCode("t", 27700, warnings).verified).toBe(false);
  expect(warnings[0]!.code).toBe("crs-shift-unverified");
});

test("grid units come with the code", () => {
  expect(crsOfCode("t", 2269, []).unitM).toBe(METRES_PER_FOOT);
  expect(crsOfCode("t", 2263, []).unitM).toBe(METRES_PER_US_SURVEY_FOOT);
  expect(crsOfCode("t", 26910, []).unitM).toBe(1);
});

test("codes that cannot be vouched for are refused by name", () => {
  for (const code of [5514, 2965000, 1]) expect(() => crsOfCode("x.tif", code, [])).toThrow(`EPSG:${code}`);
});

test.skipIf(!needs("cs2cs"))("the Delft grid is PROJ's to a decimetre over the whole country, live", () => {
  const places: [number, number][] = [];
  for (let i = 0; i < 60; i++) places.push([3.4 + (i % 10) * 0.4, 50.8 + Math.floor(i / 10) * 0.5]);
  const run = spawnSync("cs2cs", ["-d", "4", "EPSG:4326", "EPSG:28992"], {
    input: places.map(([lng, lat]) => `${lat} ${lng}`).join("\n"),
    encoding: "utf8",
  });
  const f = crsFunctions(crsOfCode("t", 28992, []));
  run.stdout
    .trim()
    .split("\n")
    .forEach((line, i) => {
      const [x, y] = line.trim().split(/\s+/).map(Number) as [number, number];
      const [px, py] = f.fromLngLat(...places[i]!);
      expect(Math.hypot(px - x, py - y)).toBeLessThan(0.1);
    });
  expect(run.stdout.trim().split("\n")).toHaveLength(60);
});
