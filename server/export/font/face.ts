import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { HardstandError } from "../../../src/errors/index.ts";
import { Bytes } from "./bytes.ts";
import { atWeight } from "./variation.ts";
import { type FontTables, type Glyph, type OutlinePoint, readWoff2 } from "./woff2.ts";

const PACKAGE = "@fontsource-variable/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next";
/** The face in its two parts: western letters and signs, then the letters of the rest of Latin script. */
export const FONT_FILES = [`${PACKAGE}-latin-wght-normal.woff2`, `${PACKAGE}-latin-ext-wght-normal.woff2`] as const;

/** One part of the face at one weight. */
export interface Face {
  name: string;
  unitsPerEm: number;
  ascent: number;
  descent: number;
  capHeight: number;
  weight: number;
  tables: Map<string, Uint8Array>;
  advances: readonly number[];
  glyphOf(codePoint: number): number | undefined;
  /** Contours with composites put together, font units. */
  outline(glyph: number): OutlinePoint[][];
}

/** Characters to glyphs from a `cmap` of format 4 or 12. */
function characterMap(cmap: Uint8Array): Map<number, number> {
  const r = new Bytes(cmap);
  r.u16();
  const count = r.u16();
  let best: { offset: number; rank: number } | null = null;
  for (let i = 0; i < count; i++) {
    const platform = r.u16();
    const encoding = r.u16();
    const offset = r.u32();
    const rank = platform === 3 && encoding === 10 ? 3 : platform === 0 ? 2 : platform === 3 && encoding === 1 ? 1 : 0;
    if (rank > (best?.rank ?? 0)) best = { offset, rank };
  }
  if (!best) throw new RangeError("the font maps no Unicode characters");
  r.at = best.offset;
  const map = new Map<number, number>();
  const format = r.u16();
  if (format === 12) {
    r.at = best.offset + 12;
    const groups = r.u32();
    for (let i = 0; i < groups; i++) {
      const [start, end, glyph] = [r.u32(), r.u32(), r.u32()];
      for (let c = start; c <= end; c++) map.set(c, glyph + c - start);
    }
    return map;
  }
  if (format !== 4) throw new RangeError(`the font's character map has format ${format}`);
  r.at = best.offset + 6;
  const segments = r.u16() / 2;
  const table = (index: number, i: number): number =>
    best!.offset + 14 + 2 * (index * segments + i) + (index > 0 ? 2 : 0);
  const value = (at: number): number => {
    r.at = at;
    return r.u16();
  };
  for (let i = 0; i < segments; i++) {
    const end = value(table(0, i));
    const start = value(table(1, i));
    const delta = value(table(2, i));
    const rangeAt = table(3, i);
    const range = value(rangeAt);
    for (let c = start; c <= end && c < 0xffff; c++) {
      const raw = range === 0 ? c : value(rangeAt + range + 2 * (c - start));
      const glyph = raw === 0 && range !== 0 ? 0 : (raw + delta) & 0xffff;
      if (glyph !== 0) map.set(c, glyph);
    }
  }
  return map;
}

function makeFace(font: FontTables, name: string, weight: number): Face {
  const { tables } = font;
  const { glyphs, advances } = atWeight(font, weight);
  const characters = characterMap(tables.get("cmap")!);
  const head = new Bytes(tables.get("head")!);
  head.at = 18;
  const hhea = new Bytes(tables.get("hhea")!);
  hhea.at = 4;
  const [ascent, descent] = [hhea.i16(), hhea.i16()];
  const os2 = new Bytes(tables.get("OS/2")!);
  os2.at = 88;
  const outline = (glyph: number, depth = 0): OutlinePoint[][] => {
    const g: Glyph | undefined = glyphs[glyph];
    if (!g || depth > 8) return [];
    return [
      ...g.contours,
      ...g.components.flatMap((c) =>
        outline(c.glyph, depth + 1).map((contour) =>
          contour.map((p) => ({
            x: Math.round(c.a * p.x + c.c * p.y + c.dx),
            y: Math.round(c.b * p.x + c.d * p.y + c.dy),
            on: p.on,
          })),
        ),
      ),
    ];
  };
  return {
    name,
    weight,
    unitsPerEm: head.u16(),
    ascent,
    descent,
    capHeight: os2.data.length >= 90 ? os2.i16() : ascent,
    tables,
    advances,
    glyphOf: (c) => characters.get(c),
    outline: (glyph) => outline(glyph),
  };
}

const resolve = createRequire(import.meta.url).resolve;
const files = new Map<string, { bytes: Uint8Array; font: FontTables }>();
const faces = new Map<string, Face>();

/** The file itself, for pages that carry it along. */
export function fontFile(file: string): Uint8Array {
  return open(file).bytes;
}

function open(file: string): { bytes: Uint8Array; font: FontTables } {
  let found = files.get(file);
  if (!found) {
    const bytes = new Uint8Array(readFileSync(resolve(file)));
    found = { bytes, font: readWoff2(bytes) };
    files.set(file, found);
  }
  return found;
}

/** The faces of a weight, first choice first. */
export function facesOf(bold: boolean): readonly Face[] {
  const weight = bold ? 700 : 400;
  return FONT_FILES.map((file, i) => {
    const key = `${file} ${weight}`;
    let face = faces.get(key);
    if (!face) {
      face = makeFace(open(file).font, `HardstandSans${bold ? "Bold" : "Regular"}${i === 0 ? "" : "Ext"}`, weight);
      faces.set(key, face);
    }
    return face;
  });
}

export interface SetGlyph {
  face: Face;
  glyph: number;
  codePoint: number;
}

/** Every letter with its face and glyph; letters that neither part has go to `missing`. */
export function setText(words: string, bold: boolean, missing?: (codePoint: number) => void): SetGlyph[] {
  const out: SetGlyph[] = [];
  const choice = facesOf(bold);
  for (const letter of words) {
    const codePoint = letter.codePointAt(0)!;
    const face = choice.find((f) => f.glyphOf(codePoint) !== undefined);
    if (face) out.push({ face, glyph: face.glyphOf(codePoint)!, codePoint });
    else missing?.(codePoint);
  }
  return out;
}

const MM_PER_PT = 25.4 / 72;

/** Width of a text, millimetres; a letter the face lacks counts half an em. */
export function textWidthMm(words: string, sizePt: number, bold: boolean): number {
  let em = 0;
  for (const g of setText(words, bold, () => {
    em += 0.5;
  }))
    em += g.face.advances[g.glyph]! / g.face.unitsPerEm;
  return em * sizePt * MM_PER_PT;
}

/** Throws report.missing-glyph when a text has letters that the embedded face lacks. */
export function requireGlyphs(words: string): void {
  const lacking = new Set<string>();
  for (const bold of [false, true])
    setText(words, bold, (c) =>
      lacking.add(`${String.fromCodePoint(c)} (U+${c.toString(16).toUpperCase().padStart(4, "0")})`),
    );
  if (lacking.size > 0)
    throw new HardstandError("report.missing-glyph", "the sheet's face has no letter for a part of the text", {
      where: words,
      received: [...lacking].join(", "),
      hint: "write the name in Latin letters for the PDF; the HTML sheet shows it as it is",
    });
}
