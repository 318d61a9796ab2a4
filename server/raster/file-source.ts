import type { FileHandle } from "node:fs/promises";
import { type ByteSource, checkRange } from "../../src/terrain/reader/index.ts";

/** Small reads are answered from pieces of this size: heads and tag values lie close together. */
const PIECE = 64 * 1024;

/** Bytes of an open file, read as needed. */
export function fileSource(name: string, file: FileHandle, size: number): ByteSource {
  let held: { from: number; bytes: Uint8Array } | null = null;
  const readExactly = async (offset: number, length: number): Promise<Uint8Array> => {
    const out = new Uint8Array(length);
    let got = 0;
    while (got < length) {
      const { bytesRead } = await file.read(out, got, length - got, offset + got);
      if (bytesRead === 0) checkRange(name, offset + got, offset, length); // the file shrank meanwhile
      got += bytesRead;
    }
    return out;
  };
  return {
    name,
    size,
    read: async (offset, length) => {
      checkRange(name, size, offset, length);
      if (length >= PIECE / 2) return readExactly(offset, length);
      if (held === null || offset < held.from || offset + length > held.from + held.bytes.length) {
        const from = Math.floor(offset / 4096) * 4096;
        held = { from, bytes: await readExactly(from, Math.min(PIECE, size - from)) };
        if (offset + length > from + held.bytes.length) return readExactly(offset, length);
      }
      return held.bytes.slice(offset - held.from, offset - held.from + length);
    },
  };
}
