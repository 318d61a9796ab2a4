import { type FileHandle, open } from "node:fs/promises";
import {
  CACHE_VERSION,
  type CacheMeta,
  checksum,
  checksumBytes,
  END_MAGIC,
  HEAD_BYTES,
  MAGIC,
  TILE,
  TILE_BYTES,
  TILE_CELLS,
  TRAILER_BYTES,
  tilesAcross,
  tilesOf,
} from "./cache-format.ts";

/** Tiles read in one go. */
const RUN_TILES = 16;
/** Tiles kept in memory per raster: 16 MB. */
const KEPT_TILES = 64;

/** Thrown when a cache file is not whole; the caller builds it again. */
export class DamagedCache extends Error {}

async function readAt(file: FileHandle, offset: number, length: number): Promise<Uint8Array> {
  // Not zeroed first: it is filled or the read fails.
  const out = new Uint8Array(Buffer.allocUnsafeSlow(length).buffer);
  let got = 0;
  while (got < length) {
    const { bytesRead } = await file.read(out, got, length - got, offset + got);
    if (bytesRead === 0) throw new DamagedCache("the cache file is cut off");
    got += bytesRead;
  }
  return out;
}

/** Reads a cache file: its description once, tiles as windows ask for them. */
export class CacheReader {
  readonly path: string;
  readonly meta: CacheMeta;
  private readonly index: Uint32Array;
  /** Tiles by their place in the file, the least recently used first. */
  private readonly kept = new Map<number, Float32Array>();

  private constructor(path: string, meta: CacheMeta, index: Uint32Array) {
    this.path = path;
    this.meta = meta;
    this.index = index;
  }

  /** @throws DamagedCache when the file is cut off, of another version or does not match its checksum */
  static async open(path: string): Promise<CacheReader> {
    const file = await open(path, "r");
    try {
      const { size } = await file.stat();
      if (size < HEAD_BYTES + TRAILER_BYTES) throw new DamagedCache("the cache file is too short");
      const head = await readAt(file, 0, HEAD_BYTES);
      if (new TextDecoder("latin1").decode(head.subarray(0, 8)) !== MAGIC) throw new DamagedCache("not a cache file");
      const trailer = await readAt(file, size - TRAILER_BYTES, TRAILER_BYTES);
      const v = new DataView(trailer.buffer);
      const [indexBytes, metaBytes, tiles] = [v.getUint32(0, true), v.getUint32(4, true), v.getUint32(8, true)];
      if (v.getUint32(16, true) !== CACHE_VERSION || v.getUint32(20, true) !== END_MAGIC)
        throw new DamagedCache("the cache file has another version or is cut off");
      const from = HEAD_BYTES + tiles * TILE_BYTES;
      if (from + indexBytes + metaBytes + TRAILER_BYTES !== size)
        throw new DamagedCache("the cache file has a wrong length");
      const tail = await readAt(file, from, indexBytes + metaBytes);
      if (checksumBytes(tail) !== v.getUint32(12, true))
        throw new DamagedCache("the cache file's description is damaged");
      const meta = JSON.parse(new TextDecoder().decode(tail.subarray(indexBytes))) as CacheMeta;
      return new CacheReader(path, meta, new Uint32Array(tail.slice(0, indexBytes).buffer));
    } finally {
      await file.close();
    }
  }

  private levelAt(factor: number): { level: CacheMeta["levels"][number]; firstEntry: number } | null {
    let firstEntry = 0;
    for (const level of this.meta.levels) {
      if (level.factor === factor) return { level, firstEntry };
      firstEntry += tilesOf(level);
    }
    return null;
  }

  /** A window of one level, row-major; NaN where void or outside. `col` and `row` count that level's cells. */
  async window(col: number, row: number, cols: number, rows: number, factor: number): Promise<Float32Array | null> {
    const found = this.levelAt(factor);
    if (found === null) return null;
    const { level, firstEntry } = found;
    const out = new Float32Array(cols * rows).fill(Number.NaN);
    const left = Math.max(0, col);
    const top = Math.max(0, row);
    const right = Math.min(level.width, col + cols);
    const bottom = Math.min(level.height, row + rows);
    if (left >= right || top >= bottom) return out;
    const across = tilesAcross(level.width);
    const paste = (tile: Float32Array, tx: number, ty: number): void => {
      const c0 = Math.max(left, tx * TILE);
      const c1 = Math.min(right, (tx + 1) * TILE);
      for (let r = Math.max(top, ty * TILE); r < Math.min(bottom, (ty + 1) * TILE); r++) {
        const from = (r - ty * TILE) * TILE - tx * TILE;
        out.set(tile.subarray(from + c0, from + c1), (r - row) * cols + c0 - col);
      }
    };
    const file = new Lazy(this.path);
    try {
      for (let ty = Math.floor(top / TILE); ty * TILE < bottom; ty++) {
        const first = firstEntry + ty * across;
        let tx = Math.floor(left / TILE);
        while (tx * TILE < right) {
          const place = this.index[2 * (first + tx)]!;
          const kept = place === 0 ? undefined : this.kept.get(place);
          if (place === 0 || kept !== undefined) {
            if (kept !== undefined) this.keep(place, kept);
            if (kept !== undefined) paste(kept, tx, ty);
            tx++;
            continue;
          }
          // Neighbouring tiles mostly stand one behind the other in the file: they are read in one go.
          let run = 1;
          while ((tx + run) * TILE < right && run < RUN_TILES && this.index[2 * (first + tx + run)] === place + run)
            run++;
          const bytes = await readAt(await file.open(), HEAD_BYTES + (place - 1) * TILE_BYTES, run * TILE_BYTES);
          for (let k = 0; k < run; k++) {
            const words = new Int32Array(bytes.buffer, k * TILE_BYTES, TILE_CELLS);
            if (checksum(words) !== this.index[2 * (first + tx + k) + 1])
              throw new DamagedCache("a tile of the cache file is damaged");
            const tile = new Float32Array(bytes.buffer, k * TILE_BYTES, TILE_CELLS);
            // Long runs belong to large windows, which do not come twice; keeping one tile would keep the run.
            if (run <= 2) this.keep(place + k, tile);
            paste(tile, tx + k, ty);
          }
          tx += run;
        }
      }
    } finally {
      await file.close();
    }
    return out;
  }

  private keep(place: number, tile: Float32Array): void {
    this.kept.delete(place);
    this.kept.set(place, tile);
    if (this.kept.size > KEPT_TILES) this.kept.delete(this.kept.keys().next().value!);
  }
}

/** A file opened when first needed. */
class Lazy {
  private file: FileHandle | null = null;
  private readonly path: string;

  constructor(path: string) {
    this.path = path;
  }

  async open(): Promise<FileHandle> {
    this.file ??= await open(this.path, "r");
    return this.file;
  }

  async close(): Promise<void> {
    await this.file?.close();
  }
}
