import { HardstandError } from "../../errors/index.ts";

/** Bytes of one file, wherever they live. Reads past the end are an error, never short. */
export interface ByteSource {
  readonly name: string;
  readonly size: number;
  read(offset: number, length: number): Promise<Uint8Array>;
}

/** A source over bytes already in memory (tests, archive members). */
export function memorySource(name: string, bytes: Uint8Array): ByteSource {
  return {
    name,
    size: bytes.byteLength,
    read: async (offset, length) => {
      checkRange(name, bytes.byteLength, offset, length);
      return bytes.subarray(offset, offset + length);
    },
  };
}

export function checkRange(name: string, size: number, offset: number, length: number): void {
  if (offset >= 0 && length >= 0 && offset + length <= size) return;
  throw new HardstandError("terrain.truncated", `the file ends before byte ${offset + length}`, {
    where: name,
    received: `${size} bytes`,
    hint: "fetch or export the file again and compare its size with the source",
  });
}
