import fc from "fast-check";
import { fromArrayBuffer } from "geotiff";
import { expect, test } from "vitest";
import { LZW, lzwInto } from "../../src/terrain/reader/lzw.kernel.ts";
import { packBitsInto } from "../../src/terrain/reader/packbits.kernel.ts";
import { halfToNumber, unpackBits } from "../../src/terrain/reader/samples.kernel.ts";
import "../../src/terrain/reader/library.ts";
import { parseNodata } from "../../src/terrain/reader/gdal-metadata.ts";
import { hgtCorner } from "../../src/terrain/reader/hgt.ts";
import { zstdFrameBound } from "../../src/terrain/reader/zstd-frame.ts";

/** Plain TIFF LZW writer after TIFF 6.0 §13, kept apart from the reader on purpose. */
function lzwWrite(data: Uint8Array): Uint8Array {
  const bits: number[] = [];
  let width = 9;
  const put = (code: number): void => {
    for (let i = width - 1; i >= 0; i--) bits.push((code >> i) & 1);
  };
  let table = new Map<string, number>();
  let next = 258;
  const clear = (): void => {
    put(256);
    table = new Map(Array.from({ length: 256 }, (_, i) => [String.fromCharCode(i), i]));
    next = 258;
    width = 9;
  };
  clear();
  let held = "";
  for (const byte of data) {
    const longer = held + String.fromCharCode(byte);
    if (table.has(longer)) {
      held = longer;
      continue;
    }
    put(table.get(held)!);
    table.set(longer, next++);
    if (next === 511 + 1) width = 10;
    else if (next === 1023 + 1) width = 11;
    else if (next === 2047 + 1) width = 12;
    if (next === 4094 + 1) clear();
    held = String.fromCharCode(byte);
  }
  if (held !== "") {
    put(table.get(held)!);
    next++;
    if (next === 511 + 1) width = 10;
    else if (next === 1023 + 1) width = 11;
    else if (next === 2047 + 1) width = 12;
  }
  put(257);
  while (bits.length % 8 !== 0) bits.push(0);
  return Uint8Array.from({ length: bits.length / 8 }, (_, i) =>
    bits.slice(8 * i, 8 * i + 8).reduce((a, b) => 2 * a + b, 0),
  );
}

const bytesArb = fc.oneof(
  fc.uint8Array({ minLength: 1, maxLength: 20_000 }),
  fc.array(fc.nat(3), { minLength: 1, maxLength: 20_000 }).map((a) => Uint8Array.from(a)),
);

test("LZW reads back what an independent writer wrote", () => {
  fc.assert(
    fc.property(bytesArb, (data) => {
      const out = new Uint8Array(data.length);
      const result = new Int32Array(2);
      expect(lzwInto(lzwWrite(data), out, result)).toBe(LZW.done);
      expect(out).toEqual(data);
    }),
    { numRuns: 60 },
  );
});

test("LZW cut short or without its clear code is damage, and nothing outside the output is touched", () => {
  const data = Uint8Array.from({ length: 5000 }, (_, i) => (i * i) & 255);
  const stored = lzwWrite(data);
  const result = new Int32Array(2);
  const out = new Uint8Array(data.length);
  expect(lzwInto(stored.subarray(0, stored.length >> 1), out, result)).toBe(LZW.short);
  expect(lzwInto(Uint8Array.of(0x12, 0x34, 0x56), out, result)).toBe(LZW.noClear);
  // Clear, then a code that no table can hold yet.
  expect(lzwInto(Uint8Array.of(0x80, 0x7f, 0xff), out, result)).toBe(LZW.badCode);
});

test("LZW never runs past its output on any bytes", () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 3000 }), fc.nat(4000), (stored, size) => {
      const result = new Int32Array(2);
      lzwInto(stored, new Uint8Array(size), result);
      expect(result[0]).toBeLessThanOrEqual(size);
    }),
    { numRuns: 500 },
  );
});

test("the TIFF library uses the strict decoder too", async () => {
  // 2 × 1 cells of 8 bits whose LZW block holds a code beyond its table.
  const block = [0x80, 0x7f, 0xff, 0xff, 0xff];
  const tags: [number, number, number, number][] = [
    [256, 3, 1, 2],
    [257, 3, 1, 1],
    [258, 3, 1, 8],
    [259, 3, 1, 5],
    [262, 3, 1, 1],
    [273, 4, 1, 8],
    [277, 3, 1, 1],
    [278, 3, 1, 1],
    [279, 4, 1, block.length],
    [284, 3, 1, 1],
    [339, 3, 1, 1],
  ];
  const file = new Uint8Array(16 + 2 + 12 * tags.length + 4);
  const v = new DataView(file.buffer);
  v.setUint16(0, 0x4949, true);
  v.setUint16(2, 42, true);
  v.setUint32(4, 16, true);
  file.set(block, 8);
  v.setUint16(16, tags.length, true);
  tags.forEach(([tag, type, count, value], i) => {
    const at = 18 + 12 * i;
    v.setUint16(at, tag, true);
    v.setUint16(at + 2, type, true);
    v.setUint32(at + 4, count, true);
    if (type === 3) v.setUint16(at + 8, value, true);
    else v.setUint32(at + 8, value, true);
  });
  const image = await (await fromArrayBuffer(file.buffer)).getImage();
  await expect(image.readRasters()).rejects.toThrow(/LZW block is damaged/);
});

test("PackBits of TIFF 6.0 §9 and its damage", () => {
  // The example of the specification.
  const stored = [0xfe, 0xaa, 0x02, 0x80, 0x00, 0x2a, 0xfd, 0xaa, 0x03, 0x80, 0x00, 0x2a, 0x22, 0xf7, 0xaa];
  const want = [
    0xaa,
    0xaa,
    0xaa,
    0x80,
    0x00,
    0x2a,
    0xaa,
    0xaa,
    0xaa,
    0xaa,
    0x80,
    0x00,
    0x2a,
    0x22,
    ...Array(10).fill(0xaa),
  ];
  const out = new Uint8Array(24);
  expect(packBitsInto(Uint8Array.from(stored), out)).toBe(24);
  expect([...out]).toEqual(want);
  expect(packBitsInto(Uint8Array.from(stored.slice(0, 8)), out)).toBeLessThan(24);
  expect(packBitsInto(Uint8Array.from(stored), new Uint8Array(23))).toBe(-1);
});

test("half floats are IEEE 754 binary16", () => {
  // IEEE 754-2008: 1, largest finite, smallest normal, smallest subnormal.
  expect([0x3c00, 0x7bff, 0x0400, 0x0001, 0xc000].map(halfToNumber)).toEqual([1, 65504, 2 ** -14, 2 ** -24, -2]);
  expect(halfToNumber(0x7c00)).toBe(Infinity);
  expect(halfToNumber(0x7e00)).toBeNaN();
});

test("packed samples come most significant bit first", () => {
  const out = new Float64Array(4);
  unpackBits(Uint8Array.of(0xab, 0xcd, 0xef, 0x12, 0x34, 0x56), 0, 12, 4, out);
  expect([...out]).toEqual([0xabc, 0xdef, 0x123, 0x456]);
});

test.each([
  ["-9999", -9999],
  [" 32767 \0", 32767],
  ["-3.4028234663852886e+38", -3.4028234663852886e38],
  ["1.#QNAN", Number.NaN],
  ["NaN", Number.NaN],
  ["-inf", -Infinity],
  ["-9999.", -9999],
  ["none", undefined],
  ["", undefined],
])("nodata text %j", (text, value) => {
  expect(parseNodata(text)).toEqual(value);
});

test.each([
  ["N42E001.hgt", { lng: 1, lat: 42 }],
  ["s34w070.SRTMGL1.hgt", { lng: -70, lat: -34 }],
  ["/a/b/S01E006.hgt", { lng: 6, lat: -1 }],
  ["N48W125.hgt.zip", { lng: -125, lat: 48 }],
  ["N00E000.hgt", { lng: 0, lat: 0 }],
  ["ridge.hgt", null],
  ["N91E001.hgt", null],
])("corner of %s", (name, corner) => {
  const got = hgtCorner(name);
  expect(got === null ? null : { lng: got.lng + 0, lat: got.lat + 0 }).toEqual(corner);
});

test("a ZSTD frame's headers say what it may hold", () => {
  // RFC 8878 §3.1.1: single segment, one raw block of 3 bytes, content size 3.
  const frame = Uint8Array.of(0x28, 0xb5, 0x2f, 0xfd, 0x20, 3, 0x19, 0, 0, 1, 2, 3);
  expect(zstdFrameBound(frame)).toEqual({ declared: 3, bound: 3 });
  expect(zstdFrameBound(frame.subarray(0, 11))).toBeNull();
  expect(zstdFrameBound(Uint8Array.of(1, 2, 3, 4, 5))).toBeNull();
});
