import { HardstandError } from "../../errors/index.ts";
import type { ByteSource } from "./byte-source.ts";
import { first, type Ifd, numbers, type Tiff } from "./tiff-ifd.ts";
import { compressionName, DECODABLE, TAG } from "./tiff-tags.ts";

/** Largest raster taken in, cells; larger ones are to be cut or coarsened first. */
export const MAX_CELLS = 4e8;
const MAX_SIDE = 500_000;
const MAX_BLOCKS = 1_000_000;
/** Largest single block once decoded; the decoding child holds a few of these at a time. */
const MAX_BLOCK_BYTES = 96 * 1024 * 1024;
/** Uncompressed strips are cut into pieces of about this size, so that one huge strip needs no huge memory. */
const RAW_PIECE_BYTES = 4 * 1024 * 1024;

export type SampleKind = "uint" | "int" | "float";

export interface Block {
  /** Byte position in the file; 0 with length 0 means that the block is absent and void. */
  offset: number;
  length: number;
}

/** One image of a TIFF, checked so that decoding it can neither run wild nor read outside the file. */
export interface Layout {
  width: number;
  height: number;
  bits: number;
  kind: SampleKind;
  /** Samples interleaved in one block: all bands when stored by pixel, else 1. */
  samplesPerBlockPixel: number;
  bands: number;
  compression: number;
  predictor: number;
  lercParameters: number[];
  reversedBits: boolean;
  tiled: boolean;
  blockWidth: number;
  blockHeight: number;
  acrossCount: number;
  downCount: number;
  /** Blocks of the first band, row by row. */
  blocks: Block[];
  /** Bytes of one decoded row of a block. */
  rowBytes: number;
  photometric: number;
  palette: boolean;
  absentBlocks: number;
}

const corrupt = (source: ByteSource, message: string, received?: unknown): HardstandError =>
  new HardstandError("terrain.corrupt", message, {
    where: source.name,
    received,
    hint: "fetch or export the file again; if it stays so, rewrite it with a raster tool",
  });
const unsupported = (source: ByteSource, message: string, received: unknown, hint: string): HardstandError =>
  new HardstandError("terrain.unsupported", message, { where: source.name, received, hint });
const tooLarge = (source: ByteSource, message: string, received: unknown, hint: string): HardstandError =>
  new HardstandError("terrain.too-large", message, { where: source.name, received, hint });

/**
 * Checks the layout tags of one image and returns what decoding needs.
 * @throws terrain.corrupt, terrain.truncated, terrain.unsupported or terrain.too-large with what was found
 * Source: TIFF 6.0 §§8, 14, 15; TIFF Technical Note 3 (floating-point predictor).
 */
export function layoutOf(source: ByteSource, tiff: Tiff, ifd: Ifd): Layout {
  const width = first(ifd, TAG.imageWidth);
  const height = first(ifd, TAG.imageLength);
  if (width === undefined || height === undefined) throw corrupt(source, "the image has no width or no height");
  if (!(width >= 1 && height >= 1)) throw corrupt(source, "the image has no cells", `${width} × ${height}`);
  if (width > MAX_SIDE || height > MAX_SIDE || width * height > MAX_CELLS)
    throw tooLarge(
      source,
      `the raster has more than ${MAX_CELLS / 1e6} million cells`,
      `${width} × ${height}`,
      "cut out the area of the plan, or coarsen it",
    );
  const bands = first(ifd, TAG.samplesPerPixel) ?? 1;
  if (bands < 1 || bands > 1024) throw corrupt(source, "the number of bands makes no sense", bands);
  const { bits, kind } = sampleType(source, ifd, bands);
  const compression = first(ifd, TAG.compression) ?? 1;
  if (!DECODABLE.has(compression))
    throw unsupported(
      source,
      `the raster is compressed with ${compressionName(compression)}, which is not read`,
      compression,
      "rewrite it with deflate, ZSTD or LZW compression",
    );
  const planar = first(ifd, TAG.planarConfiguration) ?? 1;
  if (planar !== 1 && planar !== 2) throw corrupt(source, "the planar configuration is neither 1 nor 2", planar);
  const fillOrder = first(ifd, TAG.fillOrder) ?? 1;
  if (fillOrder !== 1 && fillOrder !== 2) throw corrupt(source, "the fill order is neither 1 nor 2", fillOrder);
  const samplesPerBlockPixel = planar === 1 ? bands : 1;
  // A predictor means something to LZW, deflate and ZSTD only.
  const predictorCounts = compression === 5 || compression === 8 || compression === 32946 || compression === 50000;
  const predictor = predictorCounts ? (first(ifd, TAG.predictor) ?? 1) : 1;
  checkPredictor(source, predictor, bits, kind);

  const tileWidth = first(ifd, TAG.tileWidth);
  const tileLength = first(ifd, TAG.tileLength);
  const tiled = tileWidth !== undefined || tileLength !== undefined || ifd.values.has(TAG.tileOffsets);
  let blockWidth: number;
  let blockHeight: number;
  if (tiled) {
    if (tileWidth === undefined || tileLength === undefined || !(tileWidth >= 1) || !(tileLength >= 1))
      throw corrupt(source, "the tile size is missing or zero", `${tileWidth} × ${tileLength}`);
    blockWidth = tileWidth;
    blockHeight = tileLength;
  } else {
    blockWidth = width;
    const rows = first(ifd, TAG.rowsPerStrip) ?? height;
    if (!(rows >= 1)) throw corrupt(source, "the strips have no rows", rows);
    blockHeight = Math.min(rows, height);
  }
  const rowBytes = Math.ceil((blockWidth * samplesPerBlockPixel * bits) / 8);
  const acrossCount = Math.ceil(width / blockWidth);
  const downCount = Math.ceil(height / blockHeight);
  const plane = acrossCount * downCount;
  const expected = planar === 2 ? plane * bands : plane;
  if (expected > MAX_BLOCKS)
    throw tooLarge(
      source,
      `the raster is cut into more than ${MAX_BLOCKS} blocks`,
      expected,
      "rewrite it with larger blocks",
    );
  if (rowBytes * blockHeight > MAX_BLOCK_BYTES && (compression !== 1 || tiled))
    throw tooLarge(
      source,
      `one block of the raster takes more than ${MAX_BLOCK_BYTES / 1024 / 1024} MB`,
      `${blockWidth} × ${blockHeight} cells of ${bits} bits`,
      "rewrite it in tiles of 256 or 512 cells",
    );
  const layout: Layout = {
    width,
    height,
    bits,
    kind,
    samplesPerBlockPixel,
    bands,
    compression,
    predictor,
    lercParameters: numbers(ifd, TAG.lercParameters) ?? [],
    reversedBits: fillOrder === 2,
    tiled,
    blockWidth,
    blockHeight,
    acrossCount,
    downCount,
    blocks: [],
    rowBytes,
    photometric: first(ifd, TAG.photometric) ?? 1,
    palette: first(ifd, TAG.photometric) === 3 || ifd.values.has(TAG.colorMap),
    absentBlocks: 0,
  };
  layout.blocks = blocksOf(source, ifd, layout, expected, plane);
  layout.absentBlocks = layout.blocks.filter((b) => b.length === 0).length;
  checkOverlaps(source, tiff, layout);
  return compression === 1 && !tiled ? cutRawStrips(layout) : layout;
}

function sampleType(source: ByteSource, ifd: Ifd, bands: number): { bits: number; kind: SampleKind } {
  const perBand = numbers(ifd, TAG.bitsPerSample) ?? [1];
  const formats = numbers(ifd, TAG.sampleFormat) ?? [1];
  const bits = perBand[0]!;
  const format = formats[0]!;
  if (perBand.length !== 1 && perBand.length < bands)
    throw corrupt(source, `${perBand.length} sample sizes are given for ${bands} bands`);
  if (perBand.some((b) => b !== bits))
    throw unsupported(
      source,
      "the bands differ in bits per sample",
      perBand.slice(0, 8),
      "export the height band alone",
    );
  const kind = format === 1 || format === 4 ? "uint" : format === 2 ? "int" : format === 3 ? "float" : null;
  const ask = "export it as 16-bit or 32-bit integers or 32-bit floats";
  if (kind === null)
    throw format === 5 || format === 6
      ? unsupported(source, "the raster holds complex numbers", format, ask)
      : corrupt(source, "the sample format is unknown", format);
  const fine =
    kind === "float"
      ? [16, 24, 32, 64].includes(bits)
      : kind === "int"
        ? [8, 16, 32, 64].includes(bits)
        : (bits >= 1 && bits <= 32) || bits === 64;
  if (!fine) {
    if (!(bits >= 1 && bits <= 128)) throw corrupt(source, "the number of bits per sample makes no sense", bits);
    throw unsupported(source, `samples of ${bits} bits (${kind}) are not read`, bits, ask);
  }
  return { bits, kind };
}

function checkPredictor(source: ByteSource, predictor: number, bits: number, kind: SampleKind): void {
  if (predictor === 1) return;
  if (predictor === 2 && [8, 16, 32, 64].includes(bits)) return;
  if (predictor === 3 && kind === "float") return;
  if (predictor === 2 || predictor === 3)
    throw corrupt(source, `predictor ${predictor} does not go with ${kind} samples of ${bits} bits`);
  throw unsupported(source, "the predictor is unknown", predictor, "rewrite the raster without a predictor");
}

function blocksOf(source: ByteSource, ifd: Ifd, l: Layout, expected: number, plane: number): Block[] {
  const offsets = numbers(ifd, l.tiled ? TAG.tileOffsets : TAG.stripOffsets);
  const counts = numbers(ifd, l.tiled ? TAG.tileByteCounts : TAG.stripByteCounts);
  const what = l.tiled ? "tiles" : "strips";
  if (offsets === undefined) throw corrupt(source, `the places of the ${what} are missing`);
  if (offsets.length < expected)
    throw corrupt(source, `the raster needs ${expected} ${what}, the file lists ${offsets.length}`);
  if (counts === undefined || counts.length < expected)
    throw corrupt(source, `the lengths of the ${what} are missing`, `${counts?.length ?? 0} of ${expected}`);
  const blocks: Block[] = new Array(plane);
  for (let i = 0; i < plane; i++) {
    const offset = offsets[i]!;
    const length = counts[i]!;
    if (offset === 0 && length === 0) {
      blocks[i] = { offset: 0, length: 0 };
      continue;
    }
    if (length === 0 || offset < 8)
      throw corrupt(
        source,
        `${what.slice(0, -1)} ${i + 1} has no bytes or no place`,
        `byte ${offset}, ${length} bytes`,
      );
    if (offset + length > source.size)
      throw new HardstandError(
        "terrain.truncated",
        `${what.slice(0, -1)} ${i + 1} of ${plane} lies beyond the end of the file`,
        {
          where: source.name,
          received: `byte ${offset + length} of ${source.size}`,
          hint: "fetch or export the file again and compare its size with the source",
        },
      );
    const rows = Math.min(l.blockHeight, l.height - Math.floor(i / l.acrossCount) * l.blockHeight);
    const need = l.tiled ? l.rowBytes * l.blockHeight : l.rowBytes * rows;
    if (l.compression === 1 && length < need)
      throw corrupt(source, `${what.slice(0, -1)} ${i + 1} holds ${length} bytes where ${need} are needed`);
    blocks[i] = { offset, length };
  }
  return blocks;
}

/** Two blocks that share bytes, or a block over the directory, mean a damaged list: heights would stand in the wrong place. */
function checkOverlaps(source: ByteSource, tiff: Tiff, l: Layout): void {
  const spans: { from: number; to: number; block: boolean }[] = [];
  for (const b of l.blocks) if (b.length > 0) spans.push({ from: b.offset, to: b.offset + b.length, block: true });
  for (const ifd of tiff.ifds) {
    spans.push({ from: ifd.offset, to: ifd.offset + ifd.length, block: false });
    for (const e of ifd.entries.values())
      if (e.bytes > (tiff.big ? 8 : 4)) spans.push({ from: e.offset, to: e.offset + e.bytes, block: false });
  }
  spans.sort((a, b) => a.from - b.from || a.to - b.to);
  let reach: (typeof spans)[number] | undefined;
  for (const s of spans) {
    if (reach !== undefined && s.from < reach.to && (s.block || reach.block)) {
      // Some writers store equal compressed tiles once and point at them several times.
      const sameTwice = s.block && reach.block && s.from === reach.from && s.to === reach.to && l.compression !== 1;
      if (!sameTwice) throw corrupt(source, "two parts of the file claim the same bytes", `byte ${s.from}`);
    }
    if (reach === undefined || s.to > reach.to || s.block) reach = reach !== undefined && reach.to > s.to ? reach : s;
  }
}

/** Uncompressed strips can be read in pieces: the same rows, in smaller blocks. */
function cutRawStrips(l: Layout): Layout {
  const rowsPerPiece = Math.max(1, Math.floor(RAW_PIECE_BYTES / l.rowBytes));
  if (l.blockHeight <= rowsPerPiece) return l;
  // Pieces of equal height must tile the strips; with several strips that is only sure for divisors.
  let piece = rowsPerPiece;
  if (l.downCount > 1) while (l.blockHeight % piece !== 0) piece--;
  const blocks: Block[] = [];
  for (let row = 0; row < l.height; row += piece) {
    const strip = l.blocks[Math.floor(row / l.blockHeight)]!;
    const rows = Math.min(piece, l.height - row);
    const inside = (row % l.blockHeight) * l.rowBytes;
    blocks.push(
      strip.length === 0 ? { offset: 0, length: 0 } : { offset: strip.offset + inside, length: rows * l.rowBytes },
    );
  }
  return { ...l, blocks, blockHeight: piece, downCount: blocks.length };
}
