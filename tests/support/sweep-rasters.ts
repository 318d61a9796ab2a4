import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

export interface PlainRaster {
  cols: number;
  rows: number;
  cellM: number;
  /** NaN where void. */
  values: Float32Array;
}

/**
 * Heights of a raster through GDAL's own command, for checks that must not lean on the project's reader.
 * @param warp extra arguments of gdalwarp, as ["-t_srs", "EPSG:32610", "-tr", "30", "30", "-r", "bilinear"]
 */
export function gdalRaster(file: string, warp: string[] = []): PlainRaster {
  const folder = mkdtempSync(join(tmpdir(), "raster-"));
  try {
    const out = join(folder, "plain.img");
    const args = ["-q", "-ot", "Float32", "-dstnodata", "nan", "-of", "ENVI", ...warp, file, out];
    const run = spawnSync("gdalwarp", args, { encoding: "utf8", timeout: 120_000 });
    if (run.status !== 0) throw new Error(`gdalwarp ended with ${run.status}: ${run.stderr}`);
    const head = readFileSync(join(folder, "plain.hdr"), "utf8");
    const number = (name: string) => Number(new RegExp(`${name}\\s*=\\s*(\\d+)`).exec(head)?.[1]);
    const map = /map info = \{([^}]*)\}/.exec(head)?.[1]?.split(",") ?? [];
    const bytes = readFileSync(out);
    const values = new Float32Array(new Uint8Array(bytes).buffer);
    return { cols: number("samples"), rows: number("lines"), cellM: Number(map[5]), values };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A window of a raster. */
export function crop(raster: PlainRaster, col: number, row: number, cols: number, rows: number): PlainRaster {
  const values = new Float32Array(cols * rows);
  for (let r = 0; r < rows; r++) {
    const from = (row + r) * raster.cols + col;
    values.set(raster.values.subarray(from, from + cols), r * cols);
  }
  return { cols, rows, cellM: raster.cellM, values };
}

/** Voids replaced by the least height: for timing on data that other tools get in the same form. */
export function filled(raster: PlainRaster): PlainRaster {
  let least = Number.POSITIVE_INFINITY;
  for (const v of raster.values) if (v < least) least = v;
  return { ...raster, values: raster.values.map((v) => (Number.isNaN(v) ? least : v)) };
}
