/** What the head of one LERC2 blob says, and which of its cells hold a value. */
export interface LercHead {
  width: number;
  height: number;
  dims: number;
  /** Bits of one value: 8, 16, 32 or 64. */
  bits: number;
  kind: "uint" | "int" | "float";
  checked: boolean;
  blobBytes: number;
  /** One bit per cell, most significant first, 1 = valid; null when every cell is valid. */
  mask: Uint8Array | null;
  validCells: number;
}

const TYPES: { bits: number; kind: LercHead["kind"] }[] = [
  { bits: 8, kind: "int" },
  { bits: 8, kind: "uint" },
  { bits: 16, kind: "int" },
  { bits: 16, kind: "uint" },
  { bits: 32, kind: "int" },
  { bits: 32, kind: "uint" },
  { bits: 32, kind: "float" },
  { bits: 64, kind: "float" },
];

/**
 * Reads the head and the validity mask of a LERC2 blob. The library decoder leaves masked cells at 0, so the mask has
 * to be read here.
 * @returns null when the bytes are not a LERC2 blob or the head contradicts itself
 * Source: LERC2 blob layout as published with the reference implementation (Apache-2.0), versions 1 to 5.
 */
export function lercHead(b: Uint8Array): LercHead | null {
  if (b.length < 58 || String.fromCharCode(...b.subarray(0, 6)) !== "Lerc2 ") return null;
  const v = new DataView(b.buffer, b.byteOffset, b.byteLength);
  const version = v.getInt32(6, true);
  if (version < 1 || version > 5) return null;
  let at = 10;
  if (version >= 3) at += 4; // checksum
  const height = v.getInt32(at, true);
  const width = v.getInt32(at + 4, true);
  at += 8;
  let dims = 1;
  if (version >= 4) {
    dims = v.getInt32(at, true);
    at += 4;
  }
  const validCells = v.getInt32(at, true);
  const blobBytes = v.getInt32(at + 8, true);
  const type = TYPES[v.getInt32(at + 12, true)];
  at += 16 + 24;
  if (type === undefined || height < 1 || width < 1 || dims < 1 || at + 4 > b.length) return null;
  const cells = width * height;
  if (validCells < 0 || validCells > cells || blobBytes > b.length || blobBytes < at) return null;
  const maskBytes = v.getInt32(at, true);
  at += 4;
  const head: LercHead = { width, height, dims, ...type, checked: version >= 3, blobBytes, mask: null, validCells };
  if (maskBytes === 0) {
    if (validCells === cells) return head;
    return validCells === 0 ? { ...head, mask: new Uint8Array((cells + 7) >> 3) } : null;
  }
  if (maskBytes < 0 || at + maskBytes > b.length) return null;
  const mask = new Uint8Array((cells + 7) >> 3);
  const end = at + maskBytes;
  let out = 0;
  for (;;) {
    if (at + 2 > end) return null;
    const count = v.getInt16(at, true);
    at += 2;
    if (count === -32768) break;
    const n = Math.abs(count);
    if (out + n > mask.length || at + (count > 0 ? n : 1) > end) return null;
    if (count > 0) mask.set(b.subarray(at, at + n), out);
    else mask.fill(b[at]!, out, out + n);
    at += count > 0 ? n : 1;
    out += n;
  }
  if (out !== mask.length) return null;
  let set = 0;
  for (let i = 0; i < cells; i++) set += (mask[i >> 3]! >> (7 - (i & 7))) & 1;
  return set === validCells ? { ...head, mask } : null;
}
