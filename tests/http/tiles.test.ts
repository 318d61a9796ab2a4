import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { decode } from "fast-png";
import { expect, test } from "vitest";
import { fillVoids } from "../../server/http/tiles/fill-voids.ts";
import { reliefTile, terrainTile } from "../../server/http/tiles/ground-tiles.ts";
import { encodePng } from "../../server/http/tiles/png.ts";
import { reliefInto } from "../../server/http/tiles/relief.kernel.ts";
import { gridBounds, TILE, tileCells, tileLngLat, tileOf, zoomRange } from "../../server/http/tiles/tile-grid.ts";
import { valueTile } from "../../server/http/tiles/value-tiles.ts";
import { REJECT_REASONS } from "../../src/plan/outputs/index.ts";
import { COLOR_TABLES, classOf, PATTERN_COLORS, rgb } from "../../src/report/color-tables.ts";
import { inkAt, PATTERNS } from "../../src/report/patterns.ts";
import { cellOf, nearestCell, type Scene, sampleBilinear } from "../../src/terrain/scene.ts";
import { fakeFrame, fakeScene, fakeSurface, GRID, ORIGIN } from "../support/fake-engine.ts";
import { startService } from "../support/service.ts";
import { needs } from "../support/tools.ts";

const frame = fakeFrame(ORIGIN);
const bounds = gridBounds(frame, GRID);
const { minZoom, maxZoom } = zoomRange(bounds, GRID);

/** Tiles that touch the grid at a zoom. */
function* tilesAt(z: number) {
  const a = tileOf(z, { lng: bounds[0], lat: bounds[3] });
  const b = tileOf(z, { lng: bounds[2], lat: bounds[1] });
  for (let y = Math.floor(a.y); y <= Math.floor(b.y); y++)
    for (let x = Math.floor(a.x); x <= Math.floor(b.x); x++) yield { z, x, y };
}
const pixelPlace = (z: number, x: number, y: number, px: number, py: number) =>
  tileLngLat(z, x + (px + 0.5) / TILE, y + (py + 0.5) / TILE);

test("tile numbers span the square of web maps and agree with a second formula", () => {
  // EPSG Guidance Note 7-2, method 1024: the square ends where |northing| = πR, at latitude atan(sinh π).
  expect(tileLngLat(0, 0, 0).lng).toBe(-180);
  expect(tileLngLat(0, 0, 0).lat).toBeCloseTo(85.05112878, 7);
  expect(tileLngLat(0, 1, 1).lat).toBeCloseTo(-85.05112878, 7);
  // The same row by Snyder, Map Projections (USGS PP 1395) eq. (7-2): northing = R ln tan(π/4 + φ/2).
  const northing = Math.log(Math.tan(Math.PI / 4 + (42.03 * Math.PI) / 360));
  expect(tileOf(14, { lng: -93.62, lat: 42.03 }).y).toBeCloseTo(((1 - northing / Math.PI) / 2) * 2 ** 14, 8);
  const at = tileOf(14, { lng: -93.62, lat: 42.03 });
  expect(tileLngLat(14, at.x, at.y)).toMatchObject({ lng: expect.closeTo(-93.62, 9), lat: expect.closeTo(42.03, 9) });
});

test("positions between lattice nodes stray less than a hundredth of a pixel", () => {
  for (const z of [minZoom, 14, maxZoom])
    for (const { x, y } of tilesAt(z)) {
      const cells = tileCells(frame, GRID, z, x, y)!;
      for (const [px, py] of [
        [0, 0],
        [7, 200],
        [255, 255],
        [128, 37],
      ] as const) {
        const exact = cellOf(GRID, frame.toXY(pixelPlace(z, x, y, px, py)));
        expect(Math.abs(cells.cols[py * TILE + px]! - exact.col) / cells.cellsPerPixel).toBeLessThan(0.01);
        expect(Math.abs(cells.rows[py * TILE + px]! - exact.row) / cells.cellsPerPixel).toBeLessThan(0.01);
      }
    }
});

test("zooms run from one tile for all to a pixel no larger than a cell", () => {
  const atMax = tileCells(
    frame,
    GRID,
    maxZoom,
    ...(Object.values([...tilesAt(maxZoom)][0]!).slice(1) as [number, number]),
  )!;
  expect(atMax.cellsPerPixel).toBeLessThanOrEqual(1);
  expect(atMax.cellsPerPixel).toBeGreaterThan(0.5);
  const whole = 2 ** minZoom * ((bounds[2] - bounds[0]) / 360);
  expect(whole).toBeLessThanOrEqual(1);
  expect(whole).toBeGreaterThan(0.4);
});

test.each([
  ["rgb", 3],
  ["greyAlpha", 2],
] as const)("PNG %s reads back by another reader, odd sizes included", async (kind, channels) => {
  for (const [width, height] of [
    [1, 1],
    [7, 5],
    [256, 3],
  ] as const) {
    const pixels = Uint8Array.from({ length: width * height * channels }, (_, i) => (i * 73 + (i >> 3)) & 255);
    const png = await encodePng({ kind, width, height, pixels });
    const back = decode(png, { checkCrc: true });
    expect([back.width, back.height, back.channels, back.depth]).toEqual([width, height, channels, 8]);
    expect(Uint8Array.from(back.data as Uint8Array)).toEqual(pixels);
  }
});

test("PNG with a palette keeps colours and transparency", async () => {
  const palette = [
    [0, 0, 0, 0],
    [10, 20, 30, 255],
    [200, 100, 50, 255],
  ] as const;
  const png = await encodePng({ kind: "palette", width: 3, height: 1, pixels: Uint8Array.from([2, 0, 1]), palette });
  const back = decode(png, { checkCrc: true });
  expect(back.palette?.map((c) => [...c])).toEqual(palette.map((c) => [...c]));
  expect([...(back.data as Uint8Array)]).toEqual([2, 0, 1]);
});

test("GDAL reads the tile as it was painted", async () => {
  if (!needs("gdal_translate")) return;
  const folder = mkdtempSync(join(tmpdir(), "hs-png-"));
  try {
    const pixels = Uint8Array.from({ length: 5 * 4 * 3 }, (_, i) => (i * 37) & 255);
    writeFileSync(join(folder, "t.png"), await encodePng({ kind: "rgb", width: 5, height: 4, pixels }));
    const run = spawnSync("gdal_translate", ["-q", "-of", "ENVI", "-co", "INTERLEAVE=BIP", "t.png", "t.raw"], {
      cwd: folder,
      timeout: 30_000,
    });
    expect(run.status).toBe(0);
    expect(new Uint8Array(readFileSync(join(folder, "t.raw")))).toEqual(pixels);
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test("terrain tiles carry the ground's heights to 1/256 m, straight between cells, filled over voids", async () => {
  const scene = fakeScene();
  let checked = 0;
  for (const { z, x, y } of tilesAt(maxZoom)) {
    const png = await terrainTile(scene, z, x, y);
    if (png === null) continue;
    const { data } = decode(png);
    for (let py = 3; py < TILE; py += 5)
      for (let px = 5; px < TILE; px += 7) {
        const k = 3 * (py * TILE + px);
        const heightM = data[k]! * 256 + data[k + 1]! + data[k + 2]! / 256 - 32768;
        const at = cellOf(GRID, frame.toXY(pixelPlace(z, x, y, px, py)));
        const wanted = sampleBilinear(GRID, scene.groundM, at.col, at.row);
        if (Number.isNaN(wanted)) {
          expect(heightM).toBeGreaterThan(290);
          expect(heightM).toBeLessThan(325);
          continue;
        }
        checked++;
        expect(Math.abs(heightM - wanted)).toBeLessThan(0.02);
      }
  }
  expect(checked).toBeGreaterThan(30);
});

test("filled ground keeps every known height and stays within the known range", () => {
  const { groundM } = fakeScene();
  const filled = fillVoids(groundM, GRID.cols, GRID.rows)!;
  const known = [...groundM].filter((h) => !Number.isNaN(h));
  for (let i = 0; i < groundM.length; i++)
    if (Number.isNaN(groundM[i]!)) {
      expect(filled[i]!).toBeGreaterThanOrEqual(Math.min(...known));
      expect(filled[i]!).toBeLessThanOrEqual(Math.max(...known));
    } else expect(filled[i]).toBe(groundM[i]);
  const whole = new Float32Array([1, 2]);
  expect(fillVoids(whole, 2, 1)).toBe(whole);
  expect(fillVoids(new Float32Array(6).fill(Number.NaN), 3, 2)).toBeNull();
  // One known cell fills any shape.
  for (const [c, r] of [
    [1, 9],
    [9, 1],
    [5, 3],
  ] as const) {
    const one = new Float32Array(c * r).fill(Number.NaN);
    one[c * r - 1] = 7;
    expect([...fillVoids(one, c, r)!]).toEqual(Array(c * r).fill(7));
  }
});

test("relief agrees with gdaldem hillshade within one grey level", () => {
  if (!needs("gdaldem")) return;
  const folder = mkdtempSync(join(tmpdir(), "hs-relief-"));
  try {
    const [cols, rows, cellM] = [37, 23, 3];
    const heights = Float32Array.from(
      { length: cols * rows },
      (_, i) => 12 * Math.sin((i % cols) / 4) + 9 * Math.cos(Math.floor(i / cols) / 3),
    );
    const lines = Array.from({ length: rows }, (_, r) => [...heights.subarray(r * cols, (r + 1) * cols)].join(" "));
    writeFileSync(
      join(folder, "in.asc"),
      `ncols ${cols}\nnrows ${rows}\nxllcorner 0\nyllcorner 0\ncellsize ${cellM}\n${lines.join("\n")}\n`,
    );
    for (const [azimuth, altitude] of [
      [315, 45],
      [70, 20],
    ] as const) {
      const run = spawnSync(
        "gdaldem",
        ["hillshade", "-q", "-az", String(azimuth), "-alt", String(altitude), "-of", "ENVI", "in.asc", "out.raw"],
        { cwd: folder, timeout: 30_000 },
      );
      expect(run.status).toBe(0);
      const theirs = readFileSync(join(folder, "out.raw"));
      const ours = new Uint8Array(cols * rows);
      reliefInto(heights, cols, rows, cellM, azimuth, altitude, ours);
      // gdaldem leaves the outermost ring empty.
      for (let r = 1; r < rows - 1; r++)
        for (let c = 1; c < cols - 1; c++)
          expect(Math.abs(ours[r * cols + c]! - theirs[r * cols + c]!), `${c} ${r}`).toBeLessThanOrEqual(1);
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test("relief is clear where the surface is void or beside a void, and outside the grid", async () => {
  const scene = fakeScene();
  let [opaque, clear] = [0, 0];
  for (const { z, x, y } of tilesAt(maxZoom)) {
    const png = await reliefTile(scene, z, x, y);
    if (png === null) continue;
    const { data } = decode(png);
    for (let py = 0; py < TILE; py += 5)
      for (let px = 0; px < TILE; px += 5) {
        const cell = nearestCell(GRID, frame.toXY(pixelPlace(z, x, y, px, py)));
        const alpha = data[2 * (py * TILE + px) + 1];
        const known = cell !== null && !Number.isNaN(scene.surfaceM[cell.index]!) && !(cell.row >= 39 && cell.col <= 6);
        if (alpha === 255) opaque++;
        else clear++;
        expect(alpha).toBe(known ? 255 : 0);
      }
  }
  expect(opaque).toBeGreaterThan(100);
  expect(clear).toBeGreaterThan(20);
});

test("value tiles: every pixel has the class of its cell, or the pattern of its reason, running on across tiles", async () => {
  const { scorePct, reason } = fakeSurface();
  const table = COLOR_TABLES.score;
  for (const theme of ["day", "night"] as const) {
    const seen = new Set<string>();
    for (const { z, x, y } of [...tilesAt(maxZoom), ...tilesAt(maxZoom + 3)]) {
      const png = await valueTile({ frame, grid: GRID, values: scorePct, reasons: reason, table, theme }, z, x, y);
      if (png === null) continue;
      const { data, palette } = decode(png);
      for (let py = 0; py < TILE; py += 3)
        for (let px = 0; px < TILE; px += 3) {
          const color = [...palette![data[py * TILE + px]!]!];
          const xy = frame.toXY(pixelPlace(z, x, y, px, py));
          const at = cellOf(GRID, xy);
          // On the very line between two cells either may win.
          if (Math.abs((at.col % 1) - 0.5) < 0.02 || Math.abs((at.row % 1) - 0.5) < 0.02) continue;
          const cell = nearestCell(GRID, xy);
          const ink = (id: keyof typeof PATTERNS) => inkAt(PATTERNS[id], x * TILE + px, y * TILE + py);
          const p = PATTERN_COLORS[theme];
          let wanted = [0, 0, 0, 0];
          if (cell !== null && reason[cell.index] === 255)
            wanted = [...rgb(ink("unknown") ? p.unknownInk : p.unknownPaper), 255];
          else if (cell !== null && reason[cell.index]! > 0) {
            const id = REJECT_REASONS[reason[cell.index]! - 1]!;
            seen.add(id);
            wanted = [...rgb(ink(id) ? p.ink : p.paper), 255];
          } else if (cell !== null && !Number.isNaN(scorePct[cell.index]!)) {
            const k = classOf(table, scorePct[cell.index]!);
            seen.add(`class ${k}`);
            wanted = [...rgb(table.colors[theme][k]!), 255];
          }
          expect(color, `${z}/${x}/${y} ${px} ${py}`).toEqual(wanted);
        }
    }
    expect([...seen].sort()).toEqual([...REJECT_REASONS, ...[0, 1, 2, 3, 4, 5].map((k) => `class ${k}`)].sort());
  }
});

test("tiles by HTTP: PNG with caching, 304 while the ground is the same, 404 outside, never a page", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  const [tile] = [...tilesAt(maxZoom)];
  const at = `${tile!.z}/${tile!.x}/${tile!.y}.png`;
  for (const layer of ["terrain", "hillshade"]) {
    const png = await s.ask("GET", `/api/plans/${id}/tiles/${layer}/${at}`);
    expect([png.status, png.headers["content-type"]]).toEqual([200, "image/png"]);
    expect(decode(png.bytes).width).toBe(TILE);
    const again = await s.ask("GET", `/api/plans/${id}/tiles/${layer}/${at}`, {
      headers: { "If-None-Match": String(png.headers.etag) },
    });
    expect([again.status, again.bytes.length]).toEqual([304, 0]);
    const outside = await s.ask("GET", `/api/plans/${id}/tiles/${layer}/5/1/1.png`);
    expect([outside.status, outside.json.error.code]).toEqual([404, "http.not-found"]);
  }
  for (const layer of ["constructor", "__proto__", "gold"])
    expect((await s.ask("GET", `/api/plans/${id}/tiles/${layer}/${at}`)).status).toBe(404);
  const run = (await s.json("POST", `/api/plans/${id}/runs`, { kind: "rank" })).json.runId;
  await s.ended(run);
  const png = await s.ask("GET", `/api/runs/${run}/tiles/score/${at}?theme=night`);
  expect(png.status).toBe(200);
  expect(png.headers["cache-control"]).toContain("immutable");
  expect((await s.ask("GET", `/api/runs/${run}/tiles/score/${at}?theme=pink`)).status).toBe(400);
  expect((await s.ask("GET", `/api/runs/${run}/tiles/value/${at}`)).status).toBe(404);
  const cover = (
    await s.json("POST", `/api/plans/${id}/runs`, { kind: "cover", ...ORIGIN, service: "cell", what: "loss" })
  ).json.runId;
  await s.ended(cover);
  expect((await s.ask("GET", `/api/runs/${cover}/tiles/value/${at}`)).status).toBe(200);
});

test("a run's tiles are drawn without building the ground again", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  const run = (await s.json("POST", `/api/plans/${id}/runs`, { kind: "rank" })).json.runId;
  await s.ended(run);
  await s.server.close();
  const again = await startService({ dataDir: s.dataDir, samplesDir: s.samplesDir });
  const [tile] = [...tilesAt(maxZoom)];
  expect((await again.ask("GET", `/api/runs/${run}/tiles/score/${tile!.z}/${tile!.x}/${tile!.y}.png`)).status).toBe(
    200,
  );
  expect(again.engine.calls).toEqual([]);
});

test("ground: first call says it is being built, then extent, zooms, data sets and lines", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.sceneMs = 500;
  const first = await s.ask("GET", `/api/plans/${id}/ground`);
  expect([first.status, first.headers["retry-after"], first.json]).toEqual([
    202,
    "1",
    { state: "building", step: "Reading the ground", done: 0, total: 1 },
  ]);
  // A tile waits for the same build; nothing is built twice.
  const [tile] = [...tilesAt(maxZoom)];
  expect((await s.ask("GET", `/api/plans/${id}/tiles/terrain/${tile!.z}/${tile!.x}/${tile!.y}.png`)).status).toBe(200);
  expect(s.engine.calls.filter((c) => c === "scene")).toHaveLength(1);
  const ground = await s.ask("GET", `/api/plans/${id}/ground`);
  expect(ground.status).toBe(200);
  expect(ground.json).toMatchObject({
    origin: ORIGIN,
    grid: { cols: 60, rows: 50, cellM: 4, westM: -100, northM: 120 },
    minZoom,
    maxZoom,
    hasCanopy: true,
    contourStepM: 1,
    datasets: [
      { kind: "ground", file: "ground.tif", cellM: 4, date: "2023", verticalDatum: "navd88", text: "Ground 4 m, 2023" },
      {
        kind: "canopy",
        file: "canopy.tif",
        cellM: null,
        date: null,
        verticalDatum: "unknown",
        text: "Trees, date not given",
      },
    ],
    warnings: [{ code: "scene.invented" }],
  });
  const lines = (await s.ask("GET", `/api/plans/${id}/contours`)).json.features;
  expect(lines.length).toBeGreaterThan(10);
  expect(lines.some((f: { properties: { major: boolean } }) => f.properties.major)).toBe(true);
  const [trees, ...more] = (await s.ask("GET", `/api/plans/${id}/canopy`)).json.features;
  expect(more).toEqual([]);
  const lngs = trees.geometry.coordinates[0].map((p: number[]) => p[0]);
  // Columns 45 to 51 of 4 m from 100 m west of the origin.
  expect(Math.min(...lngs)).toBeCloseTo(frame.toLngLat({ xM: 80, yM: 0 }).lng, 6);
  expect(Math.max(...lngs)).toBeCloseTo(frame.toLngLat({ xM: 108, yM: 0 }).lng, 6);
});

test("a ground that holds nothing known has no heights and no terrain, and says so", async () => {
  const scene: Scene = fakeScene();
  scene.groundM.fill(Number.NaN);
  const [tile] = [...tilesAt(maxZoom)];
  expect(await terrainTile(scene, tile!.z, tile!.x, tile!.y)).toBeNull();
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.scene = async () => scene;
  expect((await s.ask("GET", `/api/plans/${id}/ground`)).json).toMatchObject({ minM: null, maxM: null });
  expect((await s.ask("GET", `/api/plans/${id}/contours`)).json.features).toEqual([]);
});
