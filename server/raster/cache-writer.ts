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
import { cutTile, poolPairs } from "./tile.kernel.ts";

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

async function writeAll(file: FileHandle, bytes: Uint8Array, position: number): Promise<void> {
  for (let done = 0; done < bytes.length; )
    done += (await file.write(bytes, done, bytes.length - done, position + done)).bytesWritten;
}

/** Writes a cache file from rows handed over north to south; overviews grow along the way. */
export class CacheWriter {
  private readonly levels: Level[];
  private out = new Float32Array(TILE_CELLS * WRITE_TILES);
  /** The buffer being written meanwhile. */
  private spare = new Float32Array(TILE_CELLS * WRITE_TILES);
  private writing: Promise<unknown> = Promise.resolve();
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
      const start = this.waiting * TILE_CELLS;
      const some = cutTile(level.band, level.width, left, cols, level.rows, this.out, start);
      const entry = (level.bandsDone * level.across + a) * 2;
      if (!some) continue;
      level.index[entry] = this.written + this.waiting + 1;
      level.index[entry + 1] = checksum(new Int32Array(this.out.buffer, start * 4, TILE_CELLS));
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
    await this.writing;
    const bytes = new Uint8Array(this.out.buffer, 0, this.waiting * TILE_BYTES);
    this.writing = writeAll(this.file, bytes, this.position);
    this.writing.catch(() => {}); // told when it is awaited
    [this.out, this.spare] = [this.spare, this.out];
    this.position += bytes.length;
    this.written += this.waiting;
    this.waiting = 0;
  }

  /** Closes the file's contents with its index and description; the bytes depend on the raster alone. */
  async finish(meta: Omit<CacheMeta, "levels" | "width" | "height">): Promise<void> {
    for (let i = 0; i < this.levels.length; i++) await this.flush(i);
    await this.write();
    await this.writing;
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
    await writeAll(this.file, tail, this.position);
    const head = new Uint8Array(HEAD_BYTES);
    head.set(new TextEncoder().encode(MAGIC));
    new DataView(head.buffer).setUint32(8, CACHE_VERSION, true);
    await writeAll(this.file, head, 0);
  }
}
