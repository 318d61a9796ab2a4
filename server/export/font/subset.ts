import type { Face } from "./face.ts";

const u16 = (v: number): number[] => [(v >> 8) & 255, v & 255];
const u32 = (v: number): number[] => [(v >>> 24) & 255, (v >>> 16) & 255, (v >>> 8) & 255, v & 255];

/** One glyph as a simple TrueType outline; empty for a blank. */
function outlineBytes(face: Face, glyph: number): { bytes: number[]; points: number; contours: number; xMin: number } {
  const contours = face.outline(glyph).filter((c) => c.length > 0);
  const points = contours.flat();
  if (points.length === 0) return { bytes: [], points: 0, contours: 0, xMin: 0 };
  const xs = points.map((p) => p.x);
  const ys = points.map((p) => p.y);
  const box = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  const bytes = [...u16(contours.length), ...box.flatMap(u16)];
  let end = -1;
  for (const c of contours) {
    end += c.length;
    bytes.push(...u16(end));
  }
  bytes.push(0, 0); // No hinting instructions.
  for (const p of points) bytes.push(p.on ? 1 : 0);
  for (const key of ["x", "y"] as const) {
    let last = 0;
    for (const p of points) {
      bytes.push(...u16(p[key] - last));
      last = p[key];
    }
  }
  while (bytes.length % 4 !== 0) bytes.push(0);
  return { bytes, points: points.length, contours: contours.length, xMin: box[0]! };
}

/**
 * A TrueType file with the given glyphs of a face alone, numbered in their order; the first has to be glyph 0.
 * Source: OpenType 1.9, "Organization of an OpenType font", tables head, hhea, maxp, hmtx, loca, glyf.
 */
export function subsetTrueType(face: Face, glyphs: readonly number[]): Uint8Array {
  const outlines = glyphs.map((g) => outlineBytes(face, g));
  const loca: number[] = [];
  let length = 0;
  for (const o of outlines) {
    loca.push(...u32(length));
    length += o.bytes.length;
  }
  loca.push(...u32(length));
  const head = Uint8Array.from(face.tables.get("head")!);
  head.set([0, 0, 0, 0], 8); // Sum of the whole file, set below.
  head.set([0, 1, 0, 0], 50); // Long offsets in loca, glyph data of the only known format.
  const hhea = Uint8Array.from(face.tables.get("hhea")!);
  hhea.set(u16(glyphs.length), 34);
  const maxp = Uint8Array.from(face.tables.get("maxp")!);
  maxp.set(u16(glyphs.length), 4);
  maxp.set(u16(Math.max(...outlines.map((o) => o.points))), 6);
  maxp.set(u16(Math.max(...outlines.map((o) => o.contours))), 8);
  const hmtx = glyphs.flatMap((g, i) => [...u16(face.advances[g]!), ...u16(outlines[i]!.xMin)]);
  return assemble([
    ["glyf", Uint8Array.from(outlines.flatMap((o) => o.bytes))],
    ["head", head],
    ["hhea", hhea],
    ["hmtx", Uint8Array.from(hmtx)],
    ["loca", Uint8Array.from(loca)],
    ["maxp", maxp],
  ]);
}

function checksum(bytes: Uint8Array): number {
  let sum = 0;
  for (let i = 0; i < bytes.length; i += 4)
    sum =
      (sum +
        (((bytes[i]! << 24) | ((bytes[i + 1] ?? 0) << 16) | ((bytes[i + 2] ?? 0) << 8) | (bytes[i + 3] ?? 0)) >>>
          0)) >>>
      0;
  return sum;
}

function assemble(tables: readonly (readonly [string, Uint8Array])[]): Uint8Array {
  const power = 2 ** Math.floor(Math.log2(tables.length));
  const head = [
    0,
    1,
    0,
    0,
    ...u16(tables.length),
    ...u16(power * 16),
    ...u16(Math.log2(power)),
    ...u16(tables.length * 16 - power * 16),
  ];
  let offset = 12 + 16 * tables.length;
  const rows: number[] = [];
  let headAt = 0;
  for (const [tag, bytes] of tables) {
    if (tag === "head") headAt = offset;
    rows.push(...[...tag].map((c) => c.charCodeAt(0)), ...u32(checksum(bytes)), ...u32(offset), ...u32(bytes.length));
    offset += Math.ceil(bytes.length / 4) * 4;
  }
  const out = new Uint8Array(offset);
  out.set([...head, ...rows], 0);
  let at = 12 + 16 * tables.length;
  for (const [, bytes] of tables) {
    out.set(bytes, at);
    at += Math.ceil(bytes.length / 4) * 4;
  }
  out.set(u32((0xb1b0afba - checksum(out)) >>> 0), headAt + 8);
  return out;
}
