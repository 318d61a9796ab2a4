import { promisify } from "node:util";
import { deflate } from "node:zlib";

const deflated = promisify(deflate);

const TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});

/** CRC of PNG chunks: ISO 3309, as PNG (third edition, W3C 2025) Annex D gives it. */
function crc(data: Uint8Array): number {
  let c = 0xffffffff;
  for (const byte of data) c = TABLE[(c ^ byte) & 255]! ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}

function chunk(type: string, data: Uint8Array): Buffer {
  const out = Buffer.alloc(12 + data.byteLength);
  out.writeUInt32BE(data.byteLength, 0);
  out.write(type, 4, "latin1");
  out.set(data, 8);
  out.writeUInt32BE(crc(out.subarray(4, 8 + data.byteLength)), 8 + data.byteLength);
  return out;
}

const SIGNATURE = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
/** Colour types and their samples per pixel, 8 bits each. */
const CHANNELS = { rgb: [2, 3], palette: [3, 1], greyAlpha: [4, 2] } as const;

export interface Image {
  kind: keyof typeof CHANNELS;
  width: number;
  height: number;
  /** Row-major, 8 bits per sample. */
  pixels: Uint8Array;
  /** For `palette`: red, green, blue, alpha of each entry, 0–255. */
  palette?: readonly (readonly [number, number, number, number])[];
}

/**
 * PNG of an image, 8 bits per sample, rows filtered by the row above (type 2) where samples run smoothly and left alone
 * where they are palette indices.
 * Source: Portable Network Graphics Specification, W3C, §9 filtering, §11 chunks.
 */
export async function encodePng(image: Image): Promise<Buffer> {
  const [colorType, samples] = CHANNELS[image.kind];
  const stride = image.width * samples;
  const filter = image.kind === "palette" ? 0 : 2;
  const raw = new Uint8Array((stride + 1) * image.height);
  for (let y = 0; y < image.height; y++) {
    const to = y * (stride + 1);
    raw[to] = filter;
    const row = y * stride;
    if (filter === 0 || y === 0) raw.set(image.pixels.subarray(row, row + stride), to + 1);
    else for (let i = 0; i < stride; i++) raw[to + 1 + i] = image.pixels[row + i]! - image.pixels[row - stride + i]!;
  }
  const header = Buffer.alloc(13);
  header.writeUInt32BE(image.width, 0);
  header.writeUInt32BE(image.height, 4);
  header.set([8, colorType, 0, 0, 0], 8);
  const parts = [SIGNATURE, chunk("IHDR", header)];
  if (image.palette !== undefined) {
    parts.push(chunk("PLTE", Uint8Array.from(image.palette.flatMap((entry) => entry.slice(0, 3)))));
    parts.push(chunk("tRNS", Uint8Array.from(image.palette.map(([, , , a]) => a))));
  }
  parts.push(chunk("IDAT", await deflated(raw, { level: 6 })), chunk("IEND", new Uint8Array(0)));
  return Buffer.concat(parts);
}
