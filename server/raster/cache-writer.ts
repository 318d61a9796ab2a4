import type { FileHandle } from "node:fs/promises";
import {
  CACHE_VERSION,
  type CacheMeta,
  checksum,
  checksumBytes,
  END_MAGIC,
  HEAD_BYTES,
  levelsOf,
  MAGIC,
  TILE,
  TILE_BYTES,
  TILE_CELLS,
  TRAILER_BYTES,
  tilesAcross,
  tilesOf,
} from "./cache-format.ts";
import { poolPairs } from "./pool.kernel.ts";

interface Level {
  width: number;
  height: number;
  across: number;
  /** Up to TILE rows waiting to be cut into tiles. */
  band: Float32Array;
  rows: number;
  bandsDone: number;
  index: Uint32Array;
}

/** Tiles gathered before one write to disk. */
const WRITE_TILES = 16;

/** Writes a cache file from rows handed over north to south; overviews grow along the way. */
export class CacheWriter {
  private readonly levels: Level[];
  private readonly out = new Float32Array(TILE_CELLS * WRITE_TILES);
  private waiting = 0;
  private written = 0;
  private position = HEAD_BYTES;
  private readonly file: FileHandle;
  private readonly size: { width: number; height: number };

  constructor(file: FileHandle, width: number, height: number) {
    this.file = file;
    this.size = { width, height };
    this.levels = levelsOf(width, height).map((l) => ({
      width: l.width,
      height: l.height,
      across: tilesAcross(l.width),
      band: new Float32Array(l.width * TILE),
      rows: 0,
      bandsDone: 0,
      index: new Uint32Array(tilesOf(l) * 2),
    }));
  }

  /** Takes the next rows of the raster itself. */
  async add(rows: number, values: Float32Array): Promise<void> {
    const { width } = this.levels[0]!;
    let done = 0;
    while (done < rows) {
      const level = this.levels[0]!;
      const n = Math.min(rows - done, TILE - level.rows);
      level.band.set(values.subarray(done * width, (done + n) * width), level.rows * width);
      level.rows += n;
      done += n;
      if (level.rows === TILE) await this.flush(0);
    }
  }

  private async flush(at: number): Promise<void> {
    const level = this.levels[at]!;
    if (level.rows === 0) return;
    for (let a = 0; a < level.across; a++) {
      const left = a * TILE;
      const cols = Math.min(TILE, level.width - left);
      const tile = this.out.subarray(this.waiting * TILE_CELLS, (this.waiting + 1) * TILE_CELLS);
      tile.fill(Number.NaN);
      let some = false;
      for (let r = 0; r < level.rows; r++) {
        const from = r * level.width + left;
        const row = level.band.subarray(from, from + cols);
        tile.set(row, r * TILE);
        for (let i = 0; !some && i < cols; i++) some = !Number.isNaN(row[i]);
      }
      const entry = (level.bandsDone * level.across + a) * 2;
      if (!some) continue;
      level.index[entry] = this.written + this.waiting + 1;
      level.index[entry + 1] = checksum(new Uint32Array(tile.buffer, tile.byteOffset, TILE_CELLS));
      this.waiting++;
      if (this.waiting === WRITE_TILES) await this.write();
    }
    const next = this.levels[at + 1];
    if (next !== undefined) {
      const pooled = Math.ceil(level.rows / 2);
      poolPairs(level.band, level.width, level.rows, next.band.subarray(next.rows * next.width));
      next.rows += pooled;
      if (next.rows === TILE) await this.flush(at + 1);
    }
    level.bandsDone++;
    level.rows = 0;
  }

  private async write(): Promise<void> {
    if (this.waiting === 0) return;
    const bytes = new Uint8Array(this.out.buffer, 0, this.waiting * TILE_BYTES);
    await this.file.write(bytes, 0, bytes.length, this.position);
    this.position += bytes.length;
    this.written += this.waiting;
    this.waiting = 0;
  }

  /** Closes the file's contents with its index and description; the bytes depend on the raster alone. */
  async finish(meta: Omit<CacheMeta, "levels" | "width" | "height">): Promise<void> {
    for (let i = 0; i < this.levels.length; i++) await this.flush(i);
    await this.write();
    const words = this.levels.reduce((n, l) => n + l.index.length, 0);
    const index = new Uint32Array(words);
    let at = 0;
    for (const l of this.levels) {
      index.set(l.index, at);
      at += l.index.length;
    }
    const full: CacheMeta = { ...this.size, levels: levelsOf(this.size.width, this.size.height), ...meta };
    const json = new TextEncoder().encode(JSON.stringify(full));
    const tail = new Uint8Array(index.byteLength + json.length + TRAILER_BYTES);
    tail.set(new Uint8Array(index.buffer), 0);
    tail.set(json, index.byteLength);
    const view = new DataView(tail.buffer);
    const end = index.byteLength + json.length;
    view.setUint32(end, index.byteLength, true);
    view.setUint32(end + 4, json.length, true);
    view.setUint32(end + 8, this.written, true);
    view.setUint32(end + 12, checksumBytes(tail.subarray(0, end)), true);
    view.setUint32(end + 16, CACHE_VERSION, true);
    view.setUint32(end + 20, END_MAGIC, true);
    await this.file.write(tail, 0, tail.length, this.position);
    const head = new Uint8Array(HEAD_BYTES);
    head.set(new TextEncoder().encode(MAGIC));
    new DataView(head.buffer).setUint32(8, CACHE_VERSION, true);
    await this.file.write(head, 0, HEAD_BYTES, 0);
  }
}
