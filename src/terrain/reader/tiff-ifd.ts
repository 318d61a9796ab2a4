import { HardstandError } from "../../errors/index.ts";
import type { ByteSource } from "./byte-source.ts";
import { KNOWN_TAGS } from "./tiff-tags.ts";

/** Bytes of one value of each TIFF field type; 0 = no such type. */
const TYPE_BYTES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4, 0, 0, 8, 8, 8];
const MAX_IFDS = 64;
const MAX_ENTRIES = 400;
/** Longest tag value read: a million block offsets of 8 bytes. */
const MAX_TAG_BYTES = 16 * 1024 * 1024;

export interface Entry {
  tag: number;
  type: number;
  count: number;
  offset: number;
  bytes: number;
}

export interface Ifd {
  offset: number;
  /** Bytes the directory itself takes. */
  length: number;
  entries: Map<number, Entry>;
  values: Map<number, number[] | string>;
}

export interface Tiff {
  littleEndian: boolean;
  big: boolean;
  ifds: Ifd[];
  notes: string[];
}

const corrupt = (source: ByteSource, message: string, received?: unknown): HardstandError =>
  new HardstandError("terrain.corrupt", message, {
    where: source.name,
    received,
    hint: "fetch or export the file again; if it stays so, rewrite it with a raster tool",
  });

const notRaster = (source: ByteSource, message: string, received: unknown): HardstandError =>
  new HardstandError("terrain.not-a-raster", message, {
    where: source.name,
    received,
    hint: "name a GeoTIFF (.tif) or an SRTM height file (.hgt, .hgt.zip)",
  });

/** The first bytes in words, for a message about what the file seems to be. */
function looksLike(head: Uint8Array): string {
  const text = String.fromCharCode(...head.slice(0, 16)).toLowerCase();
  if (/^\s*(<!doc|<html|<head|<\?xml|<)/.test(text)) return "a web page or XML text";
  if (text.startsWith("pk\u0003\u0004")) return "a zip archive";
  if (text.startsWith("\u0089png")) return "a PNG picture";
  if (text.startsWith("%pdf")) return "a PDF";
  if (/^ncols|^north/.test(text)) return "a text grid";
  return `bytes ${[...head.slice(0, 4)].map((b) => b.toString(16).padStart(2, "0")).join(" ")}`;
}

/**
 * Walks every image file directory of a classic or big TIFF in either byte order and reads the values of the tags this
 * reader knows. Nothing is trusted: counts, lengths and offsets are checked against the file before any allocation,
 * loops and runaway lists end in an error.
 * Source: TIFF 6.0 §2; BigTIFF extension.
 */
export async function walkTiff(source: ByteSource): Promise<Tiff> {
  if (source.size === 0) throw notRaster(source, "the file is empty", "0 bytes");
  const head = await source.read(0, Math.min(16, source.size));
  const order = head.length >= 2 ? head[0]! * 256 + head[1]! : 0;
  if (order !== 0x4949 && order !== 0x4d4d) throw notRaster(source, "the file is not a TIFF", looksLike(head));
  const littleEndian = order === 0x4949;
  if (head.length < 8)
    throw new HardstandError("terrain.truncated", "the file ends inside the TIFF header", {
      where: source.name,
      received: `${source.size} bytes`,
      hint: "fetch or export the file again",
    });
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  const magic = view.getUint16(2, littleEndian);
  if (magic !== 42 && magic !== 43) throw notRaster(source, "the file is not a TIFF", looksLike(head));
  const big = magic === 43;
  if (big && (head.length < 16 || view.getUint16(4, littleEndian) !== 8 || view.getUint16(6, littleEndian) !== 0))
    throw corrupt(source, "the BigTIFF header is damaged");
  const tiff: Tiff = { littleEndian, big, ifds: [], notes: [] };
  let next = big ? big64(source, view, 8, littleEndian) : view.getUint32(4, littleEndian);
  const seen = new Set<number>();
  while (next !== 0) {
    if (seen.has(next)) throw corrupt(source, "the list of images in the file runs in a circle", next);
    if (tiff.ifds.length >= MAX_IFDS) throw corrupt(source, `the file holds more than ${MAX_IFDS} images`);
    seen.add(next);
    // Only the first directory is vital: a damaged later one (overview, page) is left out with a note.
    try {
      const { ifd, following } = await readIfd(source, tiff, next);
      tiff.ifds.push(ifd);
      next = following;
    } catch (error) {
      if (tiff.ifds.length === 0) throw error;
      tiff.notes.push(`image ${tiff.ifds.length + 1} of the file is damaged and is left out`);
      break;
    }
  }
  if (tiff.ifds.length === 0) throw corrupt(source, "the file holds no image");
  return tiff;
}

function big64(source: ByteSource, view: DataView, at: number, le: boolean): number {
  const value = view.getBigUint64(at, le);
  if (value > BigInt(Number.MAX_SAFE_INTEGER))
    throw corrupt(source, "a 64-bit number is far beyond the file's size", String(value));
  return Number(value);
}

async function readIfd(source: ByteSource, tiff: Tiff, offset: number): Promise<{ ifd: Ifd; following: number }> {
  const { big, littleEndian: le } = tiff;
  const countBytes = big ? 8 : 2;
  const entryBytes = big ? 20 : 12;
  const tail = big ? 8 : 4;
  const ended = () =>
    new HardstandError("terrain.truncated", "the file ends before its image directory", {
      where: source.name,
      received: `directory at byte ${offset} of ${source.size}`,
      hint: "fetch or export the file again and compare its size with the source",
    });
  if (offset + countBytes > source.size) throw ended();
  const countView = dataView(await source.read(offset, countBytes));
  const count = big ? big64(source, countView, 0, le) : countView.getUint16(0, le);
  if (count === 0 || count > MAX_ENTRIES) throw corrupt(source, `an image directory lists ${count} tags`, count);
  const length = countBytes + count * entryBytes;
  if (offset + length > source.size) throw ended();
  const withNext = offset + length + tail <= source.size;
  const view = dataView(await source.read(offset + countBytes, count * entryBytes + (withNext ? tail : 0)));
  const ifd: Ifd = { offset, length: length + tail, entries: new Map(), values: new Map() };
  for (let i = 0; i < count; i++) {
    const at = i * entryBytes;
    const tag = view.getUint16(at, le);
    const type = view.getUint16(at + 2, le);
    const n = big ? big64(source, view, at + 4, le) : view.getUint32(at + 4, le);
    const size = TYPE_BYTES[type] ?? 0;
    const known = KNOWN_TAGS.has(tag);
    if (size === 0 || n * size > source.size || n * size > MAX_TAG_BYTES) {
      if (known) throw corrupt(source, `tag ${tag} has type ${type} and ${n} values, more than the file can hold`);
      continue; // a tag nobody asks for may be odd
    }
    const inline = n * size <= (big ? 8 : 4);
    const inlineAt = at + (big ? 12 : 8);
    const valueOffset = inline
      ? offset + countBytes + inlineAt
      : big
        ? big64(source, view, inlineAt, le)
        : view.getUint32(inlineAt, le);
    if (valueOffset + n * size > source.size) {
      if (known)
        throw new HardstandError("terrain.truncated", `the values of tag ${tag} lie beyond the end of the file`, {
          where: source.name,
          received: `byte ${valueOffset + n * size} of ${source.size}`,
          hint: "fetch or export the file again and compare its size with the source",
        });
      continue;
    }
    if (!known) continue;
    if (ifd.entries.has(tag)) throw corrupt(source, `tag ${tag} stands twice in one image directory`);
    const entry: Entry = { tag, type, count: n, offset: valueOffset, bytes: n * size };
    ifd.entries.set(tag, entry);
    ifd.values.set(tag, decodeValues(source, await source.read(valueOffset, entry.bytes), entry, le));
  }
  const following = withNext
    ? big
      ? big64(source, view, count * entryBytes, le)
      : view.getUint32(count * entryBytes, le)
    : 0;
  if (!withNext) tiff.notes.push("the image directory is cut off at the end of the file");
  return { ifd, following };
}

const dataView = (b: Uint8Array): DataView => new DataView(b.buffer, b.byteOffset, b.byteLength);

function decodeValues(source: ByteSource, bytes: Uint8Array, entry: Entry, le: boolean): number[] | string {
  if (entry.type === 2) {
    let end = bytes.length;
    while (end > 0 && bytes[end - 1] === 0) end--;
    return new TextDecoder("latin1").decode(bytes.subarray(0, end));
  }
  const view = dataView(bytes);
  const out = new Array<number>(entry.count);
  const size = TYPE_BYTES[entry.type]!;
  for (let i = 0; i < entry.count; i++) {
    const at = i * size;
    switch (entry.type) {
      case 1:
      case 7:
        out[i] = view.getUint8(at);
        break;
      case 6:
        out[i] = view.getInt8(at);
        break;
      case 3:
        out[i] = view.getUint16(at, le);
        break;
      case 8:
        out[i] = view.getInt16(at, le);
        break;
      case 4:
      case 13:
        out[i] = view.getUint32(at, le);
        break;
      case 9:
        out[i] = view.getInt32(at, le);
        break;
      case 5:
        out[i] = view.getUint32(at, le) / view.getUint32(at + 4, le);
        break;
      case 10:
        out[i] = view.getInt32(at, le) / view.getInt32(at + 4, le);
        break;
      case 11:
        out[i] = view.getFloat32(at, le);
        break;
      case 12:
        out[i] = view.getFloat64(at, le);
        break;
      case 17:
        out[i] = Number(view.getBigInt64(at, le));
        break;
      default:
        out[i] = big64(source, view, at, le);
    }
  }
  return out;
}

/** Values of a numeric tag, or undefined when the tag is absent or is text. */
export function numbers(ifd: Ifd, tag: number): number[] | undefined {
  const v = ifd.values.get(tag);
  return Array.isArray(v) && v.length > 0 ? v : undefined;
}

/** First value of a numeric tag. */
export const first = (ifd: Ifd, tag: number): number | undefined => numbers(ifd, tag)?.[0];

export function text(ifd: Ifd, tag: number): string | undefined {
  const v = ifd.values.get(tag);
  return typeof v === "string" ? v : undefined;
}
