import { Bytes } from "./bytes.ts";
import type { FontTables, Glyph } from "./woff2.ts";

/** Least, default and greatest weight of a variable font, and its place on that scale as −1…1. */
export function normalizedWeight(tables: Map<string, Uint8Array>, weight: number): number {
  const fvar = tables.get("fvar");
  if (!fvar) return 0;
  const r = new Bytes(fvar);
  r.at = 4;
  r.at = r.u16();
  const tag = new TextDecoder("latin1").decode(r.take(4));
  if (tag !== "wght") throw new RangeError(`the font varies by ${tag}, not by weight`);
  const fixed = () => {
    const whole = r.i16();
    return whole + r.u16() / 65_536;
  };
  const [low, middle, high] = [fixed(), fixed(), fixed()];
  const w = Math.min(high, Math.max(low, weight));
  const plain = w < middle ? (w - middle) / (middle - low) : w > middle ? (w - middle) / (high - middle) : 0;
  return bent(tables.get("avar"), plain);
}

/** The `avar` table bends the scale of an axis. */
function bent(avar: Uint8Array | undefined, value: number): number {
  if (!avar) return value;
  const r = new Bytes(avar);
  r.at = 8;
  const pairs = Array.from({ length: r.u16() }, () => [r.f2dot14(), r.f2dot14()] as const);
  for (let i = 1; i < pairs.length; i++) {
    const [x0, y0] = pairs[i - 1]!;
    const [x1, y1] = pairs[i]!;
    if (value <= x1) return x1 === x0 ? y1 : y0 + ((value - x0) / (x1 - x0)) * (y1 - y0);
  }
  return value;
}

interface Deltas {
  dx: Float64Array;
  dy: Float64Array;
}

/** Packed point numbers; null means every point. */
function pointNumbers(r: Bytes): number[] | null {
  let count = r.u8();
  if (count === 0) return null;
  if (count & 0x80) count = ((count & 0x7f) << 8) | r.u8();
  const out: number[] = [];
  let at = 0;
  while (out.length < count) {
    const control = r.u8();
    const run = (control & 0x7f) + 1;
    for (let i = 0; i < run; i++) {
      at += control & 0x80 ? r.u16() : r.u8();
      out.push(at);
    }
  }
  return out;
}

function packedDeltas(r: Bytes, count: number): number[] {
  const out: number[] = [];
  while (out.length < count) {
    const control = r.u8();
    const run = (control & 0x3f) + 1;
    for (let i = 0; i < run; i++) out.push(control & 0x80 ? 0 : control & 0x40 ? r.i16() : r.i8());
  }
  return out;
}

/** How far a tuple counts at a place on a font's single axis. */
function tupleScalar(at: number, peak: number, range: readonly [number, number] | null): number {
  if (peak === 0 || at === peak) return 1;
  const [start, end] = range ?? (peak > 0 ? [0, peak] : [peak, 0]);
  if (at <= start || at >= end) return 0;
  return at < peak ? (at - start) / (peak - start) : (end - at) / (end - peak);
}

/**
 * Movements of a glyph's points (own points or components, then four phantom points) at a place on the axis.
 * Source: OpenType 1.9 `gvar`, "Font variations common table formats": packed points, packed deltas, inferred deltas.
 */
function glyphDeltas(gvar: Uint8Array, index: number, glyph: Glyph, at: number): Deltas {
  const own = glyph.components.length > 0 ? glyph.components.length : glyph.contours.reduce((n, c) => n + c.length, 0);
  const total = own + 4;
  const sum: Deltas = { dx: new Float64Array(total), dy: new Float64Array(total) };
  const r = new Bytes(gvar);
  r.at = 4;
  const axes = r.u16();
  const sharedCount = r.u16();
  const sharedOffset = r.u32();
  r.u16();
  const long = (r.u16() & 1) === 1;
  const dataStart = r.u32();
  const offset = (i: number): number => {
    r.at = 20 + i * (long ? 4 : 2);
    return long ? r.u32() : 2 * r.u16();
  };
  const from = offset(index);
  if (offset(index + 1) === from) return sum;
  if (axes !== 1) throw new RangeError("the font varies along more than one axis");
  const base = dataStart + from;
  r.at = base;
  const head = r.u16();
  const serial = new Bytes(gvar);
  serial.at = base + r.u16();
  const shared = head & 0x8000 ? pointNumbers(serial) : null;
  for (let t = 0; t < (head & 0xfff); t++) {
    const size = r.u16();
    const flags = r.u16();
    let peak: number;
    if (flags & 0x8000) peak = r.f2dot14();
    else {
      const keep = r.at;
      if ((flags & 0xfff) >= sharedCount) throw new RangeError("a tuple of the font is not there");
      r.at = sharedOffset + 2 * (flags & 0xfff);
      peak = r.f2dot14();
      r.at = keep;
    }
    const range = flags & 0x4000 ? ([r.f2dot14(), r.f2dot14()] as const) : null;
    const scalar = tupleScalar(at, peak, range);
    const data = new Bytes(gvar);
    data.at = serial.at;
    serial.at += size;
    if (scalar === 0) continue;
    const points = flags & 0x2000 ? pointNumbers(data) : shared;
    const count = points?.length ?? total;
    const xs = packedDeltas(data, count);
    const ys = packedDeltas(data, count);
    add(sum, glyph, points, xs, ys, scalar);
  }
  return sum;
}

function add(sum: Deltas, glyph: Glyph, points: number[] | null, xs: number[], ys: number[], scalar: number): void {
  const total = sum.dx.length;
  const dx = new Float64Array(total);
  const dy = new Float64Array(total);
  const touched = new Uint8Array(total);
  for (let i = 0; i < xs.length; i++) {
    const k = points ? points[i]! : i;
    dx[k] = xs[i]!;
    dy[k] = ys[i]!;
    touched[k] = 1;
  }
  if (points && glyph.components.length === 0) {
    let start = 0;
    for (const contour of glyph.contours) {
      infer(
        dx,
        touched,
        start,
        contour.map((p) => p.x),
      );
      infer(
        dy,
        touched,
        start,
        contour.map((p) => p.y),
      );
      start += contour.length;
    }
  }
  for (let i = 0; i < total; i++) {
    sum.dx[i]! += scalar * dx[i]!;
    sum.dy[i]! += scalar * dy[i]!;
  }
}

/** Points without a movement of their own follow their touched neighbours along the contour, axis by axis. */
function infer(d: Float64Array, touched: Uint8Array, start: number, at: readonly number[]): void {
  const n = at.length;
  const known: number[] = [];
  for (let i = 0; i < n; i++) if (touched[start + i]) known.push(i);
  if (known.length === 0 || known.length === n) return;
  for (let i = 0; i < n; i++) {
    if (touched[start + i]) continue;
    const after = known.find((k) => k > i) ?? known[0]!;
    const before = known.findLast((k) => k < i) ?? known.at(-1)!;
    const [a, b] = [at[before]!, at[after]!];
    const [da, db] = [d[start + before]!, d[start + after]!];
    const v = at[i]!;
    if (a === b) d[start + i] = da === db ? da : 0;
    else if (v <= Math.min(a, b)) d[start + i] = a < b ? da : db;
    else if (v >= Math.max(a, b)) d[start + i] = a > b ? da : db;
    else d[start + i] = da + ((v - a) / (b - a)) * (db - da);
  }
}

/** Outlines and widths of a variable font at one weight; composites stay composites. */
export function atWeight(font: FontTables, weight: number): { glyphs: Glyph[]; advances: number[] } {
  const gvar = font.tables.get("gvar");
  const at = normalizedWeight(font.tables, weight);
  if (!gvar || at === 0) return { glyphs: font.glyphs, advances: font.advances };
  const advances = [...font.advances];
  const glyphs = font.glyphs.map((g, index): Glyph => {
    const d = glyphDeltas(gvar, index, g, at);
    const n = d.dx.length;
    advances[index] = Math.round(font.advances[index]! + d.dx[n - 3]! - d.dx[n - 4]!);
    if (g.components.length > 0)
      return {
        contours: [],
        components: g.components.map((c, i) => ({ ...c, dx: c.dx + d.dx[i]!, dy: c.dy + d.dy[i]! })),
      };
    let i = 0;
    return {
      components: [],
      contours: g.contours.map((c) =>
        c.map((p) => {
          const k = i++;
          return { x: Math.round(p.x + d.dx[k]!), y: Math.round(p.y + d.dy[k]!), on: p.on };
        }),
      ),
    };
  });
  return { glyphs, advances };
}
