/** Undoes horizontal differencing (predictor 2) in place on samples already in machine order. TIFF 6.0 §14. */
export function undoDifferences(
  row: Uint8Array | Uint16Array | Uint32Array | BigUint64Array,
  start: number,
  count: number,
  stride: number,
): void {
  if (row instanceof BigUint64Array) {
    for (let i = start + stride; i < start + count; i++) row[i] = row[i]! + row[i - stride]!;
    return;
  }
  const end = start + count;
  if (stride === 1) {
    let held = row[start]!;
    for (let i = start + 1; i < end; i++) {
      held = (held + row[i]!) | 0;
      row[i] = held;
    }
    return;
  }
  for (let i = start + stride; i < end; i++) row[i] = row[i]! + row[i - stride]!;
}

/**
 * Undoes the floating-point predictor (predictor 3) of one row: byte differences, then byte planes, most significant first.
 * Writes the row's values in little-endian order into `out`. TIFF Technical Note 3.
 */
export function undoFloatRow(
  bytes: Uint8Array,
  start: number,
  values: number,
  valueBytes: number,
  stride: number,
  out: Uint8Array,
): void {
  const total = values * valueBytes;
  const end = start + total;
  if (stride === 1) {
    let held = bytes[start]!;
    for (let i = start + 1; i < end; i++) {
      held = (held + bytes[i]!) & 255;
      bytes[i] = held;
    }
  } else for (let i = start + stride; i < end; i++) bytes[i] = (bytes[i]! + bytes[i - stride]!) & 255;
  for (let plane = 0; plane < valueBytes; plane++) {
    const from = start + plane * values;
    const to = valueBytes - 1 - plane;
    for (let v = 0; v < values; v++) out[v * valueBytes + to] = bytes[from + v]!;
  }
}

/** Swaps the byte order of values of 2, 4 or 8 bytes in place. */
export function swapBytes(b: Uint8Array, start: number, end: number, valueBytes: number): void {
  if (valueBytes === 2) {
    for (let i = start; i + 1 < end; i += 2) {
      const t = b[i]!;
      b[i] = b[i + 1]!;
      b[i + 1] = t;
    }
    return;
  }
  const half = valueBytes >> 1;
  for (let i = start; i + valueBytes <= end; i += valueBytes)
    for (let k = 0; k < half; k++) {
      const t = b[i + k]!;
      b[i + k] = b[i + valueBytes - 1 - k]!;
      b[i + valueBytes - 1 - k] = t;
    }
}

/** Value of an IEEE 754 binary16 number given as its 16 bits. */
export function halfToNumber(h: number): number {
  const sign = h & 0x8000 ? -1 : 1;
  const exponent = (h >> 10) & 31;
  const fraction = h & 1023;
  if (exponent === 31) return fraction === 0 ? sign * Number.POSITIVE_INFINITY : Number.NaN;
  if (exponent === 0) return sign * fraction * 2 ** -24;
  return sign * (1 + fraction / 1024) * 2 ** (exponent - 15);
}

/** Value of a 24-bit float (1 sign, 7 exponent, 16 fraction bits) given as its bits. */
export function float24ToNumber(h: number): number {
  const sign = h & 0x800000 ? -1 : 1;
  const exponent = (h >> 16) & 127;
  const fraction = h & 0xffff;
  if (exponent === 127) return fraction === 0 ? sign * Number.POSITIVE_INFINITY : Number.NaN;
  if (exponent === 0) return sign * fraction * 2 ** (-62 - 16);
  return sign * (1 + fraction / 65536) * 2 ** (exponent - 63);
}

/** Unpacks `count` unsigned samples of `bits` bits, most significant bit first, from one row of bytes. */
export function unpackBits(bytes: Uint8Array, start: number, bits: number, count: number, out: Float64Array): void {
  let at = start;
  let held = 0;
  let heldBits = 0;
  for (let i = 0; i < count; i++) {
    let value = 0;
    let wanted = bits;
    while (wanted > 0) {
      if (heldBits === 0) {
        held = bytes[at++]!;
        heldBits = 8;
      }
      const take = Math.min(wanted, heldBits);
      value = value * 2 ** take + ((held >> (heldBits - take)) & ((1 << take) - 1));
      heldBits -= take;
      wanted -= take;
    }
    out[i] = value;
  }
}
