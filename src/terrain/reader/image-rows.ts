import { HardstandError } from "../../errors/index.ts";
import type { ByteSource } from "./byte-source.ts";
import { blockDecoder, type Inflate } from "./decoders.ts";
import type { Block, Layout } from "./layout.ts";
import {
  float24ToNumber,
  halfToNumber,
  swapBytes,
  undoDifferences,
  undoFloatRow,
  unpackBits,
} from "./samples.kernel.ts";
import { type Settling, settleRow } from "./settle.kernel.ts";

/** Largest band of rows held at once, cells. */
const MAX_BAND_CELLS = 32e6;
const REVERSED = Uint8Array.from({ length: 256 }, (_, b) => {
  let r = 0;
  for (let i = 0; i < 8; i++) if (b & (1 << i)) r |= 128 >> i;
  return r;
});

type Samples =
  | Uint8Array
  | Int8Array
  | Uint16Array
  | Int16Array
  | Uint32Array
  | Int32Array
  | Float32Array
  | Float64Array;

/** Rows in settled order: `row` counts from the northern edge; `values` is row-major and lives until the next band. */
export type BandSink = (row: number, rows: number, values: Float32Array) => Promise<void>;

export interface ImageJob {
  source: ByteSource;
  layout: Layout;
  littleEndian: boolean;
  inflate: Inflate;
  settling: Settling;
  /** Rows are stored south to north: they are handed out in reverse. */
  southUp: boolean;
  /** One bit per stored cell, least significant first, 1 = valid; null when the file has no mask. */
  mask: Uint8Array | null;
  onProgress?: ((share: number) => void) | undefined;
}

/**
 * Decodes the first band of one image, block row by block row, never holding more than a band of rows.
 * @returns number of cells dropped because their heights are out of range
 */
export async function decodeImage(job: ImageJob, sink: BandSink): Promise<number> {
  const { layout: l, source, southUp } = job;
  if (l.width * Math.min(l.blockHeight, l.height) > MAX_BAND_CELLS && l.acrossCount > 1)
    throw new HardstandError("terrain.too-large", "one row of tiles holds more cells than fit in memory", {
      where: source.name,
      received: `${l.width} × ${l.blockHeight}`,
      hint: "rewrite the raster in tiles of 256 or 512 cells",
    });
  const decoder = await blockDecoder(source.name, l, job.inflate);
  let dropped = 0;
  let settledRow = 0;
  let band = new Float32Array(0);
  for (let step = 0; step < l.downCount; step++) {
    const down = southUp ? l.downCount - 1 - step : step;
    const rows = Math.min(l.blockHeight, l.height - down * l.blockHeight);
    // A single block across may be handed out in pieces; several blocks have to meet in one band first.
    const piece = l.acrossCount > 1 ? rows : Math.min(rows, Math.max(1, Math.floor(MAX_BAND_CELLS / 8 / l.width)));
    if (band.length < piece * l.width) band = new Float32Array(piece * l.width);
    const across: (Samples | null)[] = [];
    const lercMasks: (Uint8Array | null)[] = [];
    if (l.acrossCount === 1) {
      const got = await samplesOf(job, decoder, down, 0, rows);
      across.push(got?.samples ?? null);
      lercMasks.push(got?.lercMask ?? null);
    }
    for (let begin = 0; begin < rows; begin += piece) {
      const n = Math.min(piece, rows - begin);
      for (let a = 0; a < l.acrossCount; a++) {
        let samples = across[a] ?? null;
        let lercMask = lercMasks[a] ?? null;
        if (l.acrossCount > 1) {
          const got = await samplesOf(job, decoder, down, a, rows);
          samples = got?.samples ?? null;
          lercMask = got?.lercMask ?? null;
        }
        const left = a * l.blockWidth;
        const cols = Math.min(l.blockWidth, l.width - left);
        for (let r = 0; r < n; r++) {
          const inBlock = southUp ? rows - 1 - begin - r : begin + r;
          const to = r * l.width + left;
          if (samples === null) {
            band.fill(Number.NaN, to, to + cols);
            continue;
          }
          const from = inBlock * l.blockWidth * l.samplesPerBlockPixel;
          dropped += settleRow(samples, from, l.samplesPerBlockPixel, cols, job.settling, band, to);
          if (lercMask !== null) voidByLerc(lercMask, inBlock * l.blockWidth, cols, band, to);
          if (job.mask !== null)
            voidByMask(job.mask, (down * l.blockHeight + inBlock) * l.width + left, cols, band, to);
        }
      }
      await sink(settledRow, n, band.subarray(0, n * l.width));
      settledRow += n;
      job.onProgress?.(settledRow / l.height);
    }
  }
  return dropped;
}

function voidByLerc(mask: Uint8Array, from: number, count: number, out: Float32Array, to: number): void {
  for (let i = 0; i < count; i++) {
    const cell = from + i;
    if (((mask[cell >> 3]! >> (7 - (cell & 7))) & 1) === 0) out[to + i] = Number.NaN;
  }
}

function voidByMask(mask: Uint8Array, from: number, count: number, out: Float32Array, to: number): void {
  for (let i = 0; i < count; i++) {
    const cell = from + i;
    // Bit arithmetic is 32-bit: the byte is found by division, cells may pass 2^31.
    if (((mask[Math.floor(cell / 8)]! >> (cell & 7)) & 1) === 0) out[to + i] = Number.NaN;
  }
}

async function samplesOf(
  job: ImageJob,
  decoder: Awaited<ReturnType<typeof blockDecoder>>,
  down: number,
  across: number,
  rows: number,
): Promise<{ samples: Samples; lercMask: Uint8Array | null } | null> {
  const { layout: l, source } = job;
  const block: Block = l.blocks[down * l.acrossCount + across]!;
  if (block.length === 0) return null;
  let stored = await source.read(block.offset, block.length);
  if (l.reversedBits) stored = stored.map((b) => REVERSED[b]!);
  // The part of a tile below the raster's edge may be absent from what its writer stored.
  const need = l.rowBytes * rows;
  const most = l.rowBytes * l.blockHeight;
  const decoded = await decoder.decode(stored, l.tiled ? most : need, most);
  const lercMask = decoded.lerc?.mask ?? null;
  // Raw blocks may be a view of the file: they are copied before anything is undone in place.
  const owned = l.compression === 1 ? decoded.bytes.slice(0, need) : decoded.bytes.subarray(0, need);
  return { samples: toSamples(job, owned, rows), lercMask };
}

function toSamples(job: ImageJob, bytes: Uint8Array, rows: number): Samples {
  const { layout: l } = job;
  const perRow = l.blockWidth * l.samplesPerBlockPixel;
  const valueBytes = l.bits / 8;
  if (l.predictor === 3) {
    const out = new Uint8Array(bytes.length);
    for (let r = 0; r < rows; r++)
      undoFloatRow(bytes, r * l.rowBytes, perRow, valueBytes, l.samplesPerBlockPixel, out.subarray(r * l.rowBytes));
    return view(l, out, perRow * rows);
  }
  if (![8, 16, 24, 32, 64].includes(l.bits) || (l.bits === 24 && l.kind !== "float")) {
    const out = new Float64Array(perRow * rows);
    for (let r = 0; r < rows; r++) unpackBits(bytes, r * l.rowBytes, l.bits, perRow, out.subarray(r * perRow));
    return out;
  }
  if (!job.littleEndian && l.bits > 8) {
    if (l.bits === 24)
      for (let i = 0; i + 2 < bytes.length; i += 3) [bytes[i], bytes[i + 2]] = [bytes[i + 2]!, bytes[i]!];
    else swapBytes(bytes, 0, bytes.length, valueBytes);
  }
  if (l.predictor === 2) {
    const words = unsignedView(bytes, l.bits);
    for (let r = 0; r < rows; r++) undoDifferences(words, r * perRow, perRow, l.samplesPerBlockPixel);
    return view(l, new Uint8Array(words.buffer, words.byteOffset, words.byteLength), perRow * rows);
  }
  return view(l, bytes, perRow * rows);
}

const aligned = (b: Uint8Array, valueBytes: number): Uint8Array => (b.byteOffset % valueBytes === 0 ? b : b.slice());

function unsignedView(bytes: Uint8Array, bits: number): Uint8Array | Uint16Array | Uint32Array | BigUint64Array {
  const b = aligned(bytes, bits / 8);
  const n = Math.floor(b.length / (bits / 8));
  if (bits === 8) return b;
  if (bits === 16) return new Uint16Array(b.buffer, b.byteOffset, n);
  if (bits === 32) return new Uint32Array(b.buffer, b.byteOffset, n);
  return new BigUint64Array(b.buffer, b.byteOffset, n);
}

/** Little-endian bytes as numbers of the layout's type. */
function view(l: Layout, bytes: Uint8Array, count: number): Samples {
  const b = aligned(bytes, l.bits === 24 ? 1 : l.bits / 8);
  const at = b.byteOffset;
  if (l.kind === "float") {
    if (l.bits === 32) return new Float32Array(b.buffer, at, count);
    if (l.bits === 64) return new Float64Array(b.buffer, at, count);
    const out = new Float64Array(count);
    if (l.bits === 16) {
      const half = new Uint16Array(b.buffer, at, count);
      for (let i = 0; i < count; i++) out[i] = halfToNumber(half[i]!);
    } else
      for (let i = 0; i < count; i++)
        out[i] = float24ToNumber(b[3 * i]! | (b[3 * i + 1]! << 8) | (b[3 * i + 2]! << 16));
    return out;
  }
  const signed = l.kind === "int";
  if (l.bits === 8) return signed ? new Int8Array(b.buffer, at, count) : b.subarray(0, count);
  if (l.bits === 16) return signed ? new Int16Array(b.buffer, at, count) : new Uint16Array(b.buffer, at, count);
  if (l.bits === 32) return signed ? new Int32Array(b.buffer, at, count) : new Uint32Array(b.buffer, at, count);
  const wide = signed ? new BigInt64Array(b.buffer, at, count) : new BigUint64Array(b.buffer, at, count);
  return Float64Array.from(wide, Number);
}

/** Decodes an internal mask into one bit per cell, least significant first, in stored order. */
export async function decodeMask(job: Omit<ImageJob, "settling" | "southUp" | "mask">): Promise<Uint8Array> {
  const l = job.layout;
  const bits = new Uint8Array(Math.ceil((l.width * l.height) / 8));
  const settling: Settling = { nodata: Number.NaN, scale: 1, offset: 0, lowest: -Infinity, highest: Infinity };
  await decodeImage({ ...job, settling, southUp: false, mask: null }, async (row, rows, values) => {
    for (let i = 0; i < rows * l.width; i++) {
      const v = values[i]!;
      if (v === 0 || Number.isNaN(v)) continue;
      const cell = row * l.width + i;
      const byte = Math.floor(cell / 8);
      bits[byte] = bits[byte]! | (1 << (cell & 7));
    }
  });
  return bits;
}
