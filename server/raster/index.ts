import { stat } from "node:fs/promises";
import { basename } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import type { RasterHandle } from "../../src/terrain/raster.ts";
import { type HeadOptions, type HeightUnit, isHgtName } from "../../src/terrain/reader/index.ts";
import { CacheReader, DamagedCache } from "./cache-reader.ts";
import { cachePath, defaultCacheDir, fileSha256, placeAtomically, tidy } from "./cache-store.ts";
import { CachedRaster } from "./handle.ts";
import { runChild } from "./run-child.ts";
import { refuseOtherContent, verdictOf, warningsOf } from "./verdict.ts";

export { describeRaster } from "./describe.ts";

export interface OpenOptions {
  /** Name for messages and results; default the file's own. */
  name?: string | undefined;
  /** Vertical unit, when the plan says it; wins over the file. */
  unit?: HeightUnit | undefined;
  verticalDatum?: string | undefined;
  date?: string | undefined;
  heightSdM?: number | undefined;
  /**
   * What the raster is wanted for. Ground and surface refuse rasters that are not heights; land cover keeps class
   * codes as they are; `any` takes everything. Default ground.
   */
  use?: "ground" | "surface" | "canopy" | "land-cover" | "any" | undefined;
  cacheDir?: string | undefined;
  signal?: AbortSignal | undefined;
  /** Share of the first import that is done, 0…1. */
  onProgress?: ((share: number) => void) | undefined;
}

export interface OpenedCache {
  reader: CacheReader;
  sha256: string;
  name: string;
  rebuild: () => Promise<CacheReader>;
}

const building = new Map<string, Promise<void>>();

/** Opens the cache of a raster file, decoding it in a child first when there is none or a damaged one. */
export async function openCache(path: string, options: OpenOptions): Promise<OpenedCache> {
  const name = options.name ?? basename(path);
  const bytes = await sizeOf(path, name);
  const sha256 = await fileSha256(path);
  const head: HeadOptions = {
    unit: options.unit,
    verticalDatum: options.verticalDatum,
    values: options.use === "land-cover" ? "classes" : "heights",
  };
  const dir = options.cacheDir ?? defaultCacheDir();
  const own = basename(path);
  const target = cachePath(dir, sha256, isHgtName(own) ? own : "", head);
  const build = async (): Promise<void> => {
    const running = building.get(target);
    if (running !== undefined) return running;
    const job = placeAtomically(target, (temporary) =>
      runChild(
        { path, name: isHgtName(own) ? own : name, target: temporary, options: head },
        { bytes, signal: options.signal, onProgress: options.onProgress },
      ),
    );
    building.set(target, job);
    try {
      await job;
    } finally {
      building.delete(target);
    }
  };
  const rebuild = async (): Promise<CacheReader> => {
    await build();
    await tidy(dir, target);
    return CacheReader.open(target);
  };
  let reader: CacheReader;
  try {
    reader = await CacheReader.open(target);
    await tidy(dir, target);
  } catch (error) {
    // Absent, damaged or not readable: building it again mends the first two and names the third.
    if (!(error instanceof DamagedCache) && (error as NodeJS.ErrnoException).code === undefined) throw error;
    reader = await rebuild();
    if ((await fileSha256(path)) !== sha256)
      throw new HardstandError("file.unreadable", "the raster changed while it was read", {
        where: name,
        hint: "wait until it is written and try again",
      });
  }
  return { reader, sha256, name, rebuild };
}

async function sizeOf(path: string, name: string): Promise<number> {
  try {
    const s = await stat(path);
    if (!s.isFile())
      throw new HardstandError("file.unreadable", "the raster is not a file", { where: name, hint: "name a file" });
    return s.size;
  } catch (error) {
    if (error instanceof HardstandError) throw error;
    const missing = (error as NodeJS.ErrnoException).code === "ENOENT";
    throw new HardstandError(
      missing ? "file.missing" : "file.unreadable",
      missing ? "the raster is not there" : "the raster cannot be opened",
      {
        where: name,
        hint: missing ? "check the name; it counts from the plan's folder" : "check the file's permissions",
        cause: error,
      },
    );
  }
}

/**
 * Opens a raster for computation: heights in metres, void as NaN, north up. Decoded once in a child process into the
 * cache, then read from there.
 * @throws HardstandError terrain.* for anything wrong with the file; terrain.not-elevation when ground or surface is
 *         wanted and the raster holds something else
 */
export async function openRaster(path: string, options: OpenOptions = {}): Promise<RasterHandle> {
  const opened = await openCache(path, options);
  const use = options.use ?? "ground";
  const verdict = verdictOf(opened);
  if (use === "ground" || use === "surface") refuseOtherContent(opened, verdict);
  return new CachedRaster({
    file: opened.name,
    sha256: opened.sha256,
    reader: opened.reader,
    warnings: warningsOf(opened, verdict, use),
    date: options.date ?? null,
    heightSdM: options.heightSdM ?? null,
    rebuild: opened.rebuild,
  });
}
