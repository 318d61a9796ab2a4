/** What the decoder found; anything but `done` means damaged data. */
export const LZW = { done: 0, badCode: 1, noClear: 2, short: 3, tableFull: 4 } as const;

/** Where in the output the string of a code begins: every string was written before, so no table of bytes is needed. */
const START = new Int32Array(4097);
const LENGTH = new Int32Array(4097);

/**
 * Strict TIFF LZW (most significant bit first, code width changes one code early).
 * Fills `out` and stops when it is full or at the end-of-information code.
 * @param bytes   one compressed block
 * @param out     exactly the bytes the block must give
 * @param result  [bytes written, input bytes used]
 * @returns one of LZW; a code that points past the table, a block that does not start with a clear code, input that ends
 *          before `out` is full, and a table that overflows are all damage, never guessed around
 * Source: TIFF 6.0 §13.
 */
export function lzwInto(bytes: Uint8Array, out: Uint8Array, result: Int32Array): number {
  const need = out.length;
  const total = bytes.length;
  let at = 0;
  let held = 0;
  let heldBits = 0;
  let width = 9;
  let next = 258;
  let previous = -1;
  let previousStart = 0;
  let written = 0;
  result[0] = 0;
  result[1] = 0;
  let started = false;
  for (;;) {
    while (heldBits < width && at < total) {
      held = ((held << 8) | bytes[at]!) & 0xffffff;
      at++;
      heldBits += 8;
    }
    if (heldBits < width) {
      result[0] = written;
      result[1] = at;
      return written === need ? LZW.done : LZW.short;
    }
    const code = (held >>> (heldBits - width)) & ((1 << width) - 1);
    heldBits -= width;
    if (code === 256) {
      started = true;
      width = 9;
      next = 258;
      previous = -1;
      continue;
    }
    if (code === 257) {
      result[0] = written;
      result[1] = at;
      return LZW.done;
    }
    if (!started) {
      result[1] = at;
      return LZW.noClear;
    }
    if (written === need) {
      result[0] = written;
      result[1] = at;
      return LZW.done;
    }
    let length: number;
    const start = written;
    if (previous < 0) {
      if (code > 255) {
        result[0] = written;
        return LZW.badCode;
      }
      out[written++] = code;
      length = 1;
    } else {
      if (code > next || (code === next && next > 4095)) {
        result[0] = written;
        return LZW.badCode;
      }
      const previousLength = previous < 256 ? 1 : LENGTH[previous]!;
      if (code === next) {
        // The one string not yet in the table: the previous one and its own first byte.
        length = previousLength + 1;
        const room = need - written;
        const n = Math.min(length, room);
        for (let i = 0; i < n; i++)
          out[written + i] = i < previousLength ? out[previousStart + i]! : out[previousStart]!;
        written += n;
      } else if (code < 256) {
        out[written++] = code;
        length = 1;
      } else {
        length = LENGTH[code]!;
        const from = START[code]!;
        const room = need - written;
        const n = Math.min(length, room);
        for (let i = 0; i < n; i++) out[written + i] = out[from + i]!;
        written += n;
      }
      if (next <= 4095) {
        START[next] = previousStart;
        LENGTH[next] = previousLength + 1;
        next++;
        if (next === 511) width = 10;
        else if (next === 1023) width = 11;
        else if (next === 2047) width = 12;
      } else {
        // Writers must clear before the table is full.
        result[0] = written;
        return LZW.tableFull;
      }
    }
    previous = code;
    previousStart = start;
  }
}
