import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { horizonRays } from "../../src/satellite/horizon.kernel.ts";
import { skyline } from "../../src/satellite/horizon.ts";
import { dishSettings } from "../../src/satellite/index.ts";
import { standAt } from "../../src/satellite/view.ts";
import { makeScene } from "../support/scenes.ts";
import { hasShared, needs, shared } from "../support/tools.ts";

const rad = Math.PI / 180;
const earthM = (4 / 3) * 6_371_000;
const dish = dishSettings({ diameterM: 0.9, eyeHeightM: 1.6 });
const place = { lng: -97, lat: 42 };

function around(scene: ReturnType<typeof makeScene>, count = 360) {
  const standing = standAt(scene, { place }, dish, "2026-09-12");
  return skyline(scene, place, standing.eye, standing.active, dish, earthM, count);
}

test("a ring wall: the same angle all round, less the Earth's curve", () => {
  const scene = makeScene({
    cols: 401,
    rows: 401,
    cellM: 30,
    hasSurface: false,
    ground: (x, y) => (Math.abs(Math.hypot(x, y) - 4000) < 100 ? 900 : 100),
  });
  for (const s of around(scene)) {
    // The wall's top is first reached between 3900 m and a cell and a half behind it; bilinear ramps lie in front.
    const at = (d: number) => Math.atan((900 - 101.6) / d - d / (2 * earthM)) / rad;
    expect(s.elevationDeg!).toBeLessThanOrEqual(at(3870));
    expect(s.elevationDeg!).toBeGreaterThanOrEqual(at(3965));
    expect(s.kind).toBe("terrain");
  }
});

test("a ramp, at the azimuths of its rows, columns and diagonals: its own slope against the sight line", () => {
  const scene = makeScene({ cols: 301, rows: 301, cellM: 10, hasSurface: false, ground: (x) => 500 + 0.2 * x });
  const samples = around(scene, 8);
  const exit = 1505;
  for (const [n, along] of [
    [2, 1],
    [1, Math.SQRT1_2],
    [3, Math.SQRT1_2],
  ] as const) {
    // Uphill by 0.2 along x; the eye stands 1.6 m up, so the horizon is the far edge.
    const d = n === 2 ? exit : exit * Math.SQRT2;
    const rise = 0.2 * along - 1.6 / d - d / (2 * earthM);
    expect(samples[n]!.elevationDeg!).toBeCloseTo(Math.atan(rise) / rad, 1);
  }
  // Along the contour: flat ground under the eye, still below level at the edge.
  expect(samples[0]!.elevationDeg!).toBeLessThan(0);
  expect(samples[0]!.elevationDeg!).toBeGreaterThan(-0.2);
});

test("a sphere: the dip of the horizon from a tower", () => {
  // Flat in the frame is a sphere once bent: the farthest visible point stands √(2·a·h) off, dip √(2h/a).
  const scene = makeScene({ cols: 701, rows: 701, cellM: 100, hasSurface: false, ground: () => 0 });
  const standing = standAt(scene, { place, eyeHeightM: 30 }, dish, "2026-09-12");
  const samples = skyline(scene, place, standing.eye, standing.active, dish, earthM, 72);
  for (const s of samples) {
    expect(s.elevationDeg!).toBeCloseTo(-Math.sqrt((2 * 30) / earthM) / rad, 3);
    expect(Math.abs(s.distanceM! - Math.sqrt(2 * earthM * 30))).toBeLessThan(1500); // flat maximum
  }
});

test("the far field is read cell by cell, never averaged", () => {
  const far = { westM: -30_000, northM: 30_000, cellM: 300, cols: 200, rows: 200 };
  const groundM = new Float32Array(200 * 200).fill(100);
  groundM[100 * 200 + 170] = 2000; // one peak in the east, 21.15 km off
  const scene = makeScene({ hasSurface: false, farField: { grid: far, groundM } });
  const top = Math.max(...around(scene, 1440).map((s) => s.elevationDeg!));
  const d = 21_000;
  expect(top).toBeCloseTo(Math.atan((2000 - 101.6) / d - d / (2 * earthM)) / rad, 1);
});

// GRASS GIS r.horizon (Debian, raster mode, degrees), a window of Mt Hood's 30 m grid, without curvature in both.
test("horizon angles agree with r.horizon on real ground", { timeout: 120_000 }, () => {
  if (!hasShared() || !needs("grass")) return;
  const folder = mkdtempSync(join(tmpdir(), "horizon-"));
  try {
    const file = shared("terrain", "mt_hood_elev_30m_utm10.tif");
    const script = `
r.in.gdal -o input=${file} output=dem --quiet
g.region n=5033000 s=5029400 w=600000 e=603600 align=dem
r.out.bin -f input=dem output=${folder}/dem --quiet
for d in 90 180 20 110; do
  r.horizon -d elevation=dem direction=$d maxdistance=2400 output=h --quiet
done
for m in $(g.list raster pattern=h_*); do r.out.bin -f input=$m output=${folder}/$m --quiet; done`;
    const run = spawnSync("grass", ["--tmp-location", file, "--exec", "bash", "-c", script], {
      encoding: "utf8",
      timeout: 100_000,
    });
    expect(run.status, run.stderr).toBe(0);
    const dem = readFloats(join(folder, "dem"));
    const side = 121;
    expect(dem.length).toBe(side * side);
    for (const degrees of [90, 180, 20, 110]) {
      const grass = readFloats(join(folder, `h_${String(degrees).padStart(3, "0")}`));
      // r.horizon counts directions counter-clockwise from east.
      const sinCos = Float64Array.of(Math.cos(degrees * rad), Math.sin(degrees * rad));
      const differences: number[] = [];
      const aligned = degrees % 90 === 0;
      for (let row = 20; row < side - 20; row += 2)
        for (let col = 20; col < side - 20; col += 2) {
          const tangent = Float64Array.of(-1);
          const distance = new Float64Array(1);
          const eyeM = dem[row * side + col]!;
          horizonRays(
            dem,
            side,
            side,
            30,
            0,
            sinCos,
            col,
            row,
            eyeM,
            30,
            2400,
            15,
            Number.POSITIVE_INFINITY,
            4000,
            tangent,
            distance,
            new Float64Array(1).fill(Infinity),
          );
          // Off the grid's own directions r.horizon takes the nearest cell: close by that is a matter of taste, not of right.
          if (aligned || distance[0]! > 400)
            differences.push(Math.abs(grass[row * side + col]! - Math.atan(tangent[0]!) / rad));
        }
      differences.sort((a, b) => a - b);
      const at = (share: number) => differences[Math.floor(share * differences.length)]!;
      expect(differences.length).toBeGreaterThan(200);
      expect(differences.reduce((a, b) => a + b) / differences.length).toBeLessThan(aligned ? 0.15 : 0.5);
      expect(at(0.5)).toBeLessThan(aligned ? 0.05 : 0.4);
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});

const readFloats = (path: string): Float32Array => new Float32Array(new Uint8Array(readFileSync(path)).buffer);
