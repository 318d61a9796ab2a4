/**
 * Upper bound of what a ZSTD frame decodes to, from its headers alone, or null when the headers are damaged or the
 * frame does not end where the bytes do. A library decoder given damaged headers may grow without end: this is asked first.
 * Source: RFC 8878 §3.1.1.
 */
export function zstdFrameBound(b: Uint8Array): { declared: number | null; bound: number } | null {
  let at = 0;
  let bound = 0;
  let declared: number | null = 0;
  while (at < b.length) {
    if (at + 5 > b.length) return null;
    const magic = (b[at]! | (b[at + 1]! << 8) | (b[at + 2]! << 16) | (b[at + 3]! << 24)) >>> 0;
    if (magic !== 0xfd2fb528) return null;
    const descriptor = b[at + 4]!;
    if (descriptor & 0x08) return null; // reserved bit
    const single = (descriptor & 0x20) !== 0;
    const checksum = (descriptor & 0x04) !== 0;
    const dictionaryBytes = [0, 1, 2, 4][descriptor & 3]!;
    const sizeFlag = descriptor >> 6;
    const sizeBytes = sizeFlag === 0 ? (single ? 1 : 0) : 1 << sizeFlag;
    at += 5 + (single ? 0 : 1) + dictionaryBytes;
    if (dictionaryBytes !== 0 || at + sizeBytes > b.length) return null;
    if (sizeBytes === 0) declared = null;
    else if (declared !== null) {
      let size = 0;
      for (let i = sizeBytes - 1; i >= 0; i--) size = size * 256 + b[at + i]!;
      declared += sizeBytes === 2 ? size + 256 : size;
    }
    at += sizeBytes;
    for (;;) {
      if (at + 3 > b.length) return null;
      const head = b[at]! | (b[at + 1]! << 8) | (b[at + 2]! << 16);
      const last = (head & 1) !== 0;
      const type = (head >> 1) & 3;
      const size = head >> 3;
      if (type === 3 || size > 128 * 1024) return null;
      at += 3 + (type === 1 ? 1 : size);
      bound += type === 2 ? 128 * 1024 : size;
      if (at > b.length) return null;
      if (last) break;
    }
    if (checksum) at += 4;
    if (at > b.length) return null;
  }
  return b.length === 0 ? null : { declared, bound };
}
