import { brotliDecompressSync } from "node:zlib";
import { Bytes } from "./bytes.ts";

/** A point of an outline in font units; `on` is false for a control point of a quadratic curve. */
export interface OutlinePoint {
  x: number;
  y: number;
  on: boolean;
}

export interface Component {
  glyph: number;
  /** x' = a·x + c·y + dx, y' = b·x + d·y + dy. */
  a: number;
  b: number;
  c: number;
  d: number;
  dx: number;
  dy: number;
}

/** A glyph: contours of its own, or other glyphs put together. */
export interface Glyph {
  contours: OutlinePoint[][];
  components: Component[];
}

export interface FontTables {
  /** Tables that are stored as they are, by tag. */
  tables: Map<string, Uint8Array>;
  glyphs: Glyph[];
  /** Advance widths in font units, one a glyph. */
  advances: number[];
}

const KNOWN =
  "cmap,head,hhea,hmtx,maxp,name,OS/2,post,cvt ,fpgm,glyf,loca,prep,CFF ,VORG,EBDT,EBLC,gasp,hdmx,kern,LTSH,PCLT,VDMX,vhea,vmtx,BASE,GDEF,GPOS,GSUB,EBSC,JSTF,MATH,CBDT,CBLC,COLR,CPAL,SVG ,sbix,acnt,avar,bdat,bloc,bsln,cvar,fdsc,feat,fmtx,fvar,gvar,hsty,just,lcar,mort,morx,opbd,prop,trak,Zapf,Silf,Glat,Gloc,Feat,Sill".split(
    ",",
  );
const SIGNATURE = 0x774f4632;

/**
 * Reads a WOFF 2.0 file with TrueType outlines.
 * Throws RangeError for anything else. Source: W3C Recommendation "WOFF File Format 2.0" (2022), §4, §5.
 */
export function readWoff2(file: Uint8Array): FontTables {
  const r = new Bytes(file);
  if (r.u32() !== SIGNATURE) throw new RangeError("this is not a WOFF 2.0 font");
  r.at = 12;
  const count = r.u16();
  r.at = 20;
  const packedLength = r.u32();
  r.at = 48;
  const entries: { tag: string; transformed: boolean; length: number }[] = [];
  for (let i = 0; i < count; i++) {
    const flags = r.u8();
    const tag = (flags & 63) === 63 ? new TextDecoder("latin1").decode(r.take(4)) : KNOWN[flags & 63]!;
    const version = flags >> 6;
    const plainLength = r.base128();
    const outlines = tag === "glyf" || tag === "loca";
    // Outlines are transformed unless version 3 says otherwise; other tables the other way round.
    const transformed = outlines ? version !== 3 : version !== 0;
    entries.push({ tag, transformed, length: transformed ? r.base128() : plainLength });
  }
  const body = new Bytes(new Uint8Array(brotliDecompressSync(r.take(packedLength))));
  const tables = new Map<string, Uint8Array>();
  let outlines: Uint8Array | null = null;
  let metricsTransformed = false;
  for (const e of entries) {
    const data = body.take(e.length);
    if (e.tag === "glyf" && e.transformed) outlines = data;
    else if (e.tag !== "loca" || !e.transformed) tables.set(e.tag, data);
    if (e.tag === "hmtx") metricsTransformed = e.transformed;
  }
  if (!outlines) throw new RangeError("the font has no transformed TrueType outlines");
  const glyphs = readGlyphs(outlines);
  return { tables, glyphs, advances: readAdvances(tables, metricsTransformed, glyphs.length) };
}

function readAdvances(tables: Map<string, Uint8Array>, transformed: boolean, glyphCount: number): number[] {
  const hhea = new Bytes(tables.get("hhea")!);
  hhea.at = 34;
  const metrics = hhea.u16();
  const r = new Bytes(tables.get("hmtx")!);
  if (transformed) r.u8();
  const out: number[] = [];
  for (let i = 0; i < metrics; i++) {
    out.push(r.u16());
    // Side bearings stand between the widths only in the plain form.
    if (!transformed) r.i16();
  }
  while (out.length < glyphCount) out.push(out.at(-1)!);
  return out;
}

/** Outlines out of the transformed `glyf` table, WOFF 2.0 §5.1. */
function readGlyphs(data: Uint8Array): Glyph[] {
  const h = new Bytes(data);
  h.at = 4;
  const count = h.u16();
  h.u16();
  const sizes = Array.from({ length: 7 }, () => h.u32());
  const streams = sizes.map((size) => new Bytes(h.take(size)));
  const [contourCounts, pointCounts, flags, coordinates, composites] = streams as [Bytes, Bytes, Bytes, Bytes, Bytes];
  const glyphs: Glyph[] = [];
  for (let i = 0; i < count; i++) {
    const contours = contourCounts.i16();
    if (contours === 0) glyphs.push({ contours: [], components: [] });
    else if (contours > 0)
      glyphs.push({ contours: readContours(contours, pointCounts, flags, coordinates), components: [] });
    else glyphs.push({ contours: [], components: readComponents(composites, coordinates) });
  }
  return glyphs;
}

function readContours(count: number, pointCounts: Bytes, flags: Bytes, coordinates: Bytes): OutlinePoint[][] {
  const sizes = Array.from({ length: count }, () => pointCounts.packed16());
  let x = 0;
  let y = 0;
  const contours = sizes.map((size) =>
    Array.from({ length: size }, (): OutlinePoint => {
      const flag = flags.u8();
      const [dx, dy] = triplet(flag & 127, coordinates);
      x += dx;
      y += dy;
      return { x, y, on: flag < 128 };
    }),
  );
  coordinates.packed16(); // Length of hinting instructions; those are not used in print.
  return contours;
}

/** One coordinate pair, WOFF 2.0 §5.2, table "Triplet encoding". */
function triplet(code: number, r: Bytes): [number, number] {
  const sign = (bit: number, v: number): number => ((bit & 1) === 1 ? v : -v);
  if (code < 10) return [0, sign(code, ((code & 14) << 7) + r.u8())];
  if (code < 20) return [sign(code, (((code - 10) & 14) << 7) + r.u8()), 0];
  if (code < 84) {
    const k = code - 20;
    const b = r.u8();
    return [sign(code, 1 + (k & 0x30) + (b >> 4)), sign(code >> 1, 1 + ((k & 0x0c) << 2) + (b & 15))];
  }
  if (code < 120) {
    const k = code - 84;
    return [sign(code, 1 + (Math.floor(k / 12) << 8) + r.u8()), sign(code >> 1, 1 + (((k % 12) >> 2) << 8) + r.u8())];
  }
  if (code < 124) {
    const b0 = r.u8();
    const b1 = r.u8();
    return [sign(code, (b0 << 4) + (b1 >> 4)), sign(code >> 1, ((b1 & 15) << 8) + r.u8())];
  }
  return [sign(code, r.u16()), sign(code >> 1, r.u16())];
}

const WORDS = 0x1;
const OFFSETS = 0x2;
const SCALE = 0x8;
const MORE = 0x20;
const TWO_SCALES = 0x40;
const MATRIX = 0x80;
const INSTRUCTIONS = 0x100;

/** Parts of a composite glyph (OpenType `glyf`, "Composite glyph description"). */
function readComponents(r: Bytes, coordinates: Bytes): Component[] {
  const out: Component[] = [];
  let instructions = false;
  for (;;) {
    const flags = r.u16();
    const glyph = r.u16();
    const words = (flags & WORDS) !== 0;
    const dx = words ? r.i16() : r.i8();
    const dy = words ? r.i16() : r.i8();
    const part: Component = { glyph, a: 1, b: 0, c: 0, d: 1, dx: 0, dy: 0 };
    if ((flags & OFFSETS) === 0) throw new RangeError("a glyph of the font is put together by point numbers");
    part.dx = dx;
    part.dy = dy;
    if ((flags & SCALE) !== 0) part.a = part.d = r.f2dot14();
    else if ((flags & TWO_SCALES) !== 0) {
      part.a = r.f2dot14();
      part.d = r.f2dot14();
    } else if ((flags & MATRIX) !== 0) {
      part.a = r.f2dot14();
      part.b = r.f2dot14();
      part.c = r.f2dot14();
      part.d = r.f2dot14();
    }
    if ((flags & INSTRUCTIONS) !== 0) instructions = true;
    out.push(part);
    if ((flags & MORE) === 0) break;
  }
  if (instructions) coordinates.packed16();
  return out;
}
