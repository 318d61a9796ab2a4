import type { CrsInfo, Placement, RasterHead, RasterStats, Warning } from "../../src/terrain/reader/index.ts";

/** Layout of a cached raster. Raise when anything about it or about how heights are settled changes. */
export const CACHE_VERSION = 4;
export const TILE = 256;
export const TILE_CELLS = TILE * TILE;
export const TILE_BYTES = TILE_CELLS * 4;

/**
 * A cache file, little-endian throughout:
 *   16 bytes   magic "HSRASTER", version (u32), zero (u32)
 *   tiles      256 × 256 float32 each, in the order written; a tile without a single height is not stored
 *   index      per level, per tile row by row: place (u32, 1-based number of the tile, 0 = void) and checksum (u32)
 *   meta       JSON, UTF-8
 *   24 bytes   index length, meta length, tile count, checksum of index and meta, version (u32 each), "HSRE"
 */
export const MAGIC = "HSRASTER";
export const END_MAGIC = 0x45525348;
export const HEAD_BYTES = 16;
export const TRAILER_BYTES = 24;

export interface CacheMeta {
  width: number;
  height: number;
  /** Sides of each level in cells: the raster itself, then maximum-pooled by 2, 4, 8 … */
  levels: { factor: number; width: number; height: number }[];
  head: Pick<
    RasterHead,
    "format" | "vertical" | "overviews" | "encoding" | "words" | "unitType" | "palette" | "colourPicture" | "date"
  > & { nodata: number | "nan" | null; bands: number; bits: number; kind: string; photometric: number };
  placement: Placement;
  crs: CrsInfo;
  stats: RasterStats;
  warnings: Warning[];
}

export const tilesAcross = (width: number): number => Math.ceil(width / TILE);
export const tilesOf = (level: { width: number; height: number }): number =>
  tilesAcross(level.width) * tilesAcross(level.height);

/** Levels of a raster: halved until one tile holds it. */
export function levelsOf(width: number, height: number): CacheMeta["levels"] {
  const levels = [{ factor: 1, width, height }];
  for (let f = 2; ; f *= 2) {
    const last = levels[levels.length - 1]!;
    if (last.width <= TILE && last.height <= TILE) return levels;
    levels.push({ factor: f, width: Math.ceil(last.width / 2), height: Math.ceil(last.height / 2) });
  }
}

/** Checksum of 32-bit words (signed, which keeps the loop in integers): notices damaged, swapped and missing parts; no protection against intent. */
export function checksum(words: Int32Array, seed = 0x9e3779b1): number {
  // Four lanes that do not wait for each other.
  let a = seed | 0;
  let b = ~seed;
  let c = seed ^ 0x5bd1e995;
  let d = seed ^ 0x27d4eb2f;
  const n = words.length;
  const whole = n & ~3;
  for (let i = 0; i < whole; i += 4) {
    a = Math.imul(a ^ words[i]!, 0x85ebca6b);
    b = Math.imul(b ^ words[i + 1]!, 0x85ebca6b);
    c = Math.imul(c ^ words[i + 2]!, 0x85ebca6b);
    d = Math.imul(d ^ words[i + 3]!, 0x85ebca6b);
    a ^= a >>> 15;
    b ^= b >>> 15;
    c ^= c >>> 15;
    d ^= d >>> 15;
  }
  for (let i = whole; i < n; i++) a = Math.imul(a ^ words[i]!, 0x85ebca6b) ^ (a >>> 13);
  for (const lane of [b, c, d]) a = Math.imul(a ^ lane, 0xc2b2ae35) ^ (a >>> 16);
  return a >>> 0;
}

/** The same for bytes of any length. */
export function checksumBytes(bytes: Uint8Array): number {
  const padded = new Uint8Array(Math.ceil(bytes.length / 4) * 4);
  padded.set(bytes);
  return checksum(new Int32Array(padded.buffer), bytes.length);
}
