/**
 * Strict PackBits: fills `out` exactly.
 * @returns bytes written; fewer than out.length when the input ends early, −1 when a run passes the end of `out`
 * Source: TIFF 6.0 §9.
 */
export function packBitsInto(bytes: Uint8Array, out: Uint8Array): number {
  const need = out.length;
  const total = bytes.length;
  let at = 0;
  let written = 0;
  while (written < need && at < total) {
    const n = bytes[at++]!;
    if (n === 128) continue;
    if (n < 128) {
      const count = n + 1;
      if (at + count > total) return written;
      if (written + count > need) return -1;
      for (let i = 0; i < count; i++) out[written + i] = bytes[at + i]!;
      written += count;
      at += count;
    } else {
      const count = 257 - n;
      if (at >= total) return written;
      if (written + count > need) return -1;
      out.fill(bytes[at++]!, written, written + count);
      written += count;
    }
  }
  return written;
}
