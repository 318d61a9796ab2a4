import { HardstandError } from "../../errors/index.ts";
import type { Layout } from "./layout.ts";
import { type LercHead, lercHead } from "./lerc-mask.ts";
import { LZW, lzwInto } from "./lzw.kernel.ts";
import { packBitsInto } from "./packbits.kernel.ts";
import { compressionName } from "./tiff-tags.ts";
import { zstdFrameBound } from "./zstd-frame.ts";

/** Strict inflate, given from outside: at most `maxBytes` of output; throws on damage, on early end and on more output. */
export type Inflate = (bytes: Uint8Array, maxBytes: number) => Uint8Array;

export interface DecodedBlock {
  /** At least the bytes asked for. */
  bytes: Uint8Array;
  /** Validity bits that came with the block, or null. */
  lerc: LercHead | null;
}

export interface BlockDecoder {
  /**
   * Decodes one block.
   * @param bytes   the block as stored
   * @param need    bytes the block must give at least (rows that lie in the image)
   * @param most    bytes a whole block gives at most
   */
  decode(bytes: Uint8Array, need: number, most: number): Promise<DecodedBlock>;
}

const plain = (bytes: Uint8Array): DecodedBlock => ({ bytes, lerc: null });

const damaged = (name: string, message: string): HardstandError =>
  new HardstandError("terrain.corrupt", message, {
    where: name,
    hint: "fetch or export the file again; the heights in it cannot be trusted",
  });

export function decodeLzw(bytes: Uint8Array, out: Uint8Array, name: string): void {
  const result = new Int32Array(2);
  const state = lzwInto(bytes, out, result);
  if (state === LZW.noClear && bytes[0] === 0 && (bytes[1]! & 1) === 1)
    throw new HardstandError("terrain.unsupported", "the raster is compressed with old-style LZW, which is not read", {
      where: name,
      hint: "rewrite it with deflate, ZSTD or LZW compression",
    });
  if (state === LZW.done && result[0] === out.length) return;
  throw damaged(name, `an LZW block is damaged: ${result[0]} of ${out.length} bytes could be read`);
}

/** A ZSTD frame without its content size gets it written in: the decoder then checks it and never guesses. */
function withContentSize(b: Uint8Array, size: number): Uint8Array {
  const out = new Uint8Array(b.length + 8);
  out.set(b.subarray(0, 6));
  out[4] = b[4]! | 0xc0;
  new DataView(out.buffer).setBigUint64(6, BigInt(size), true);
  out.set(b.subarray(6), 14);
  return out;
}

/** A decoder of the TIFF library, loaded when a raster first needs it: most do not, and it takes a while. */
async function libraryDecoder(
  compression: number,
  parameters: Record<string, unknown> = {},
): Promise<{ decodeBlock(bytes: ArrayBufferLike): unknown }> {
  const { libraryDecoder: load } = await import("./library.ts");
  return load(compression, parameters);
}

async function zstdDecoder(
  name: string,
): Promise<(bytes: Uint8Array, need: number, most: number) => Promise<Uint8Array>> {
  const library = await libraryDecoder(50000);
  return async (bytes, need, most) => {
    const frame = zstdFrameBound(bytes);
    if (frame === null) throw damaged(name, "a ZSTD block is damaged: its frame headers do not fit its bytes");
    const size = frame.declared ?? need;
    if (size < need || size > most || frame.bound < size)
      throw damaged(name, `a ZSTD block says it holds ${size} bytes where ${need} are needed`);
    const input = frame.declared === null ? withContentSize(bytes, size) : bytes.slice();
    let out: Uint8Array;
    try {
      out = new Uint8Array((await library.decodeBlock(input.buffer)) as ArrayBuffer);
    } catch (error) {
      throw damaged(name, `a ZSTD block is damaged: ${HardstandError.from(error).message}`);
    }
    if (out.length !== size) throw damaged(name, "a ZSTD block is damaged: it does not decode to its stated length");
    return out;
  };
}

/**
 * The decoder of one layout's compression.
 * @param inflate  strict inflate of the caller's platform
 */
export async function blockDecoder(name: string, l: Layout, inflate: Inflate): Promise<BlockDecoder> {
  const inflateBlock = (bytes: Uint8Array, need: number, most: number, what = "deflate"): Uint8Array => {
    let out: Uint8Array;
    try {
      out = inflate(bytes, most);
    } catch (error) {
      throw damaged(name, `a ${what} block is damaged: ${HardstandError.from(error).message}`);
    }
    if (out.length < need) throw damaged(name, `a ${what} block gives ${out.length} bytes where ${need} are needed`);
    return out;
  };
  switch (l.compression) {
    case 1:
      return {
        decode: async (bytes, need) => {
          if (bytes.length < need) throw damaged(name, `a block holds ${bytes.length} bytes where ${need} are needed`);
          return plain(bytes);
        },
      };
    case 5:
      return {
        decode: async (bytes, need) => {
          const out = new Uint8Array(need);
          decodeLzw(bytes, out, name);
          return plain(out);
        },
      };
    case 8:
    case 32946:
      return { decode: async (bytes, need, most) => plain(inflateBlock(bytes, need, most)) };
    case 32773:
      return {
        decode: async (bytes, need) => {
          const out = new Uint8Array(need);
          const got = packBitsInto(bytes, out);
          if (got !== need)
            throw damaged(name, `a PackBits block is damaged: ${Math.max(got, 0)} of ${need} bytes could be read`);
          return plain(out);
        },
      };
    case 50000: {
      const decode = await zstdDecoder(name);
      return { decode: async (bytes, need, most) => plain(await decode(bytes, need, most)) };
    }
    case 34887:
      return lercDecoder(name, l, inflateBlock);
    default:
      throw new HardstandError("terrain.unsupported", `compression ${compressionName(l.compression)} is not read`, {
        where: name,
      });
  }
}

async function lercDecoder(
  name: string,
  l: Layout,
  inflateBlock: (bytes: Uint8Array, need: number, most: number, what?: string) => Uint8Array,
): Promise<BlockDecoder> {
  const extra = l.lercParameters[1] ?? 0;
  if (extra !== 0 && extra !== 1 && extra !== 2)
    throw new HardstandError("terrain.unsupported", "the second compression of a LERC raster is unknown", {
      where: name,
      received: extra,
    });
  const zstd = extra === 2 ? await zstdDecoder(name) : null;
  const library = await libraryDecoder(34887, {
    planarConfiguration: l.samplesPerBlockPixel > 1 ? 1 : 2,
    LercParameters: [4, 0],
  });
  return {
    decode: async (stored, need, most) => {
      // A LERC blob is never much longer than its cells stored plainly.
      const blobMost = most + 65_536;
      let blob = stored;
      if (extra === 1) blob = inflateBlock(stored, 58, blobMost, "LERC deflate");
      if (zstd !== null) {
        const frame = zstdFrameBound(stored);
        if (frame?.declared == null)
          throw damaged(name, "a LERC block is damaged: its ZSTD frame does not fit its bytes");
        blob = await zstd(stored, Math.min(frame.declared, blobMost), blobMost);
      }
      const head = lercHead(blob);
      const pixelBytes = (l.bits / 8) * l.samplesPerBlockPixel;
      if (
        head === null ||
        head.width !== l.blockWidth ||
        head.dims !== l.samplesPerBlockPixel ||
        head.bits !== l.bits ||
        head.kind !== l.kind ||
        head.height > l.blockHeight ||
        head.width * head.height * pixelBytes < need
      )
        throw damaged(name, "a LERC block is damaged: its head does not fit the raster");
      const exact = blob.slice(0, head.blobBytes);
      let bytes: Uint8Array;
      try {
        bytes = new Uint8Array((await library.decodeBlock(exact.buffer)) as ArrayBuffer);
      } catch (error) {
        throw damaged(name, `a LERC block is damaged: ${HardstandError.from(error).message}`);
      }
      if (bytes.length < need) throw damaged(name, "a LERC block is damaged: it is too short");
      return { bytes, lerc: head.mask === null ? null : head };
    },
  };
}
