/** Reads big-endian numbers one after the other. */
export class Bytes {
  at = 0;
  private readonly view: DataView;

  constructor(readonly data: Uint8Array) {
    this.view = new DataView(data.buffer, data.byteOffset, data.byteLength);
  }

  u8(): number {
    return this.view.getUint8(this.at++);
  }

  i8(): number {
    return this.view.getInt8(this.at++);
  }

  u16(): number {
    this.at += 2;
    return this.view.getUint16(this.at - 2);
  }

  i16(): number {
    this.at += 2;
    return this.view.getInt16(this.at - 2);
  }

  u32(): number {
    this.at += 4;
    return this.view.getUint32(this.at - 4);
  }

  /** A signed number with 14 binary places (F2DOT14). */
  f2dot14(): number {
    return this.i16() / 16_384;
  }

  take(length: number): Uint8Array {
    this.at += length;
    return this.data.subarray(this.at - length, this.at);
  }

  /** Variable-length number of WOFF 2.0 §4.1 (UIntBase128). */
  base128(): number {
    let value = 0;
    for (let i = 0; i < 5; i++) {
      const b = this.u8();
      value = value * 128 + (b & 127);
      if (b < 128) return value;
    }
    throw new RangeError("a length in the font file runs on without end");
  }

  /** Variable-length number of WOFF 2.0 §5.2 (255UInt16). */
  packed16(): number {
    const b = this.u8();
    if (b === 253) return this.u16();
    if (b === 254) return this.u8() + 506;
    if (b === 255) return this.u8() + 253;
    return b;
  }
}
