import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { build } from "vite";
import type { openRaster as OpenRaster } from "../../server/raster/index.ts";
import { hasShared, needs, projectRoot, shared } from "../support/tools.ts";

const RUNS = 5;

/** Encodings of one 3601 × 3601 tile, with the share of gdal_translate's time the first import is allowed. */
const CASES: [name: string, options: string[], limit: number][] = [
  ["deflate", ["-co", "COMPRESS=DEFLATE", "-co", "PREDICTOR=2", "-co", "TILED=YES"], 1.5],
  ["deflate float32", ["-ot", "Float32", "-co", "COMPRESS=DEFLATE", "-co", "PREDICTOR=3", "-co", "TILED=YES"], 1.5],
  ["ZSTD", ["-co", "COMPRESS=ZSTD", "-co", "PREDICTOR=2", "-co", "TILED=YES"], 1.5],
  ["LERC float32", ["-ot", "Float32", "-co", "COMPRESS=LERC", "-co", "TILED=YES"], 1.5],
  ["LZW strips", ["-co", "COMPRESS=LZW"], 2.5],
  ["LZW tiles", ["-co", "COMPRESS=LZW", "-co", "PREDICTOR=2", "-co", "TILED=YES"], 2.5],
];

const median = (list: number[]): number => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)]!;

/** The reader as it runs when built: the child is a bundle, not a source file through a loader. */
async function builtReader(): Promise<typeof OpenRaster> {
  const outDir = join(projectRoot, "dist", "bench-reader");
  await build({
    configFile: false,
    root: projectRoot,
    logLevel: "error",
    publicDir: false,
    build: {
      ssr: true,
      outDir,
      emptyOutDir: true,
      target: "node20",
      rollupOptions: {
        input: { raster: "server/raster/index.ts", "decode-child": "server/raster/decode-child.ts" },
        output: { entryFileNames: "[name].mjs" },
      },
    },
  });
  return ((await import(pathToFileURL(join(outDir, "raster.mjs")).href)) as { openRaster: typeof OpenRaster })
    .openRaster;
}

/** A full 3601 × 3601 tile of mountains: the 1,201 one, three times finer. */
function fullTile(dir: string): string {
  const path = join(dir, "tile.tif");
  const run = spawnSync("gdal_translate", [
    "-q",
    "-outsize",
    "3601",
    "3601",
    "-r",
    "cubicspline",
    shared("terrain", "hgt", "N42E001.hgt"),
    path,
  ]);
  if (run.status !== 0) throw new Error(String(run.stderr));
  return path;
}

/** Times first import and reading from the cache against gdal_translate to raw floats; interleaved, median of 5. */
export async function benchReader(): Promise<string> {
  if (!needs("gdal_translate") || !hasShared()) return "reader: skipped, GDAL or the reference rasters are missing";
  const openRaster = await builtReader();
  const dir = mkdtempSync(join(tmpdir(), "hs-bench-"));
  const lines = [
    "Reading a 3601 × 3601 tile, milliseconds, median of 5; ratio to gdal_translate -of ENVI -ot Float32",
    "encoding          gdal   import  ratio (limit)   cached  ratio (limit 0.3)",
  ];
  try {
    const tile = fullTile(dir);
    for (const [name, options, limit] of CASES) {
      const path = join(dir, `${name.replace(/ /g, "-")}.tif`);
      spawnSync("gdal_translate", ["-q", ...options, tile, path]);
      const times = { gdal: [] as number[], first: [] as number[], cached: [] as number[] };
      for (let i = 0; i < RUNS; i++) {
        let t = performance.now();
        spawnSync("gdal_translate", ["-q", "-of", "ENVI", "-ot", "Float32", path, join(dir, `raw${i}`)]);
        times.gdal.push(performance.now() - t);
        const cacheDir = join(dir, `cache-${name}-${i}`);
        mkdirSync(cacheDir);
        t = performance.now();
        await openRaster(path, { cacheDir });
        times.first.push(performance.now() - t);
        t = performance.now();
        const raster = await openRaster(path, { cacheDir });
        for (let row = 0; row < raster.height; row += 256) await raster.read(0, row, raster.width, 256);
        times.cached.push(performance.now() - t);
        rmSync(cacheDir, { recursive: true });
      }
      const [g, f, c] = [median(times.gdal), median(times.first), median(times.cached)];
      lines.push(
        `${name.padEnd(16)}${g.toFixed(0).padStart(6)}${f.toFixed(0).padStart(9)}${(f / g).toFixed(2).padStart(7)} (${limit})${c.toFixed(0).padStart(10)}${(c / g).toFixed(2).padStart(7)}`,
      );
    }
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
  return lines.join("\n");
}
