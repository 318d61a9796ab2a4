import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { Bytes } from "../../server/export/font/bytes.ts";
import { facesOf, requireGlyphs, textWidthMm } from "../../server/export/font/face.ts";
import { normalizedWeight } from "../../server/export/font/variation.ts";
import { sheetPdf } from "../../server/export/sheet-pdf.ts";
import { type Item, text } from "../../src/report/sheet/draw.ts";
import { needs } from "../support/tools.ts";

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "face-"));
});
afterAll(() => rmSync(folder, { recursive: true }));

/**
 * Width changes of a glyph by the font's own `HVAR` table (OpenType 1.9, "HVAR", "Item variation stores"): a second,
 * separate statement of what the outlines' phantom points in `gvar` say.
 */
function widthChange(hvar: Uint8Array, glyph: number, at: number): number {
  const r = new Bytes(hvar);
  r.at = 4;
  const store = r.u32();
  const mapAt = r.u32();
  let outer = 0;
  let inner = glyph;
  if (mapAt !== 0) {
    r.at = mapAt;
    const wide = r.u8() === 1;
    const format = r.u8();
    const count = wide ? r.u32() : r.u16();
    const size = ((format >> 4) & 3) + 1;
    r.at += Math.min(glyph, count - 1) * size;
    let entry = 0;
    for (let i = 0; i < size; i++) entry = entry * 256 + r.u8();
    const bits = (format & 15) + 1;
    outer = entry >> bits;
    inner = entry & ((1 << bits) - 1);
  }
  r.at = store + 2;
  const regionsAt = store + r.u32();
  r.at = store + 8 + 4 * outer;
  const dataAt = store + r.u32();
  r.at = dataAt;
  const items = r.u16();
  const words = r.u16();
  const regions = Array.from({ length: r.u16() }, () => r.u16());
  if (inner >= items) throw new RangeError("no such item");
  r.at += inner * (words * 2 + (regions.length - words));
  const deltas = regions.map((_, i) => (i < words ? r.i16() : r.i8()));
  return deltas.reduce((sum, delta, i) => {
    r.at = regionsAt + 4 + 6 * regions[i]!;
    const [start, peak, end] = [r.f2dot14(), r.f2dot14(), r.f2dot14()];
    const scale =
      peak === 0 || at === peak
        ? 1
        : at <= start || at >= end
          ? 0
          : at < peak
            ? (at - start) / (peak - start)
            : (end - at) / (end - peak);
    return sum + scale * delta;
  }, 0);
}

test("bold widths agree with the font's own table of widths, for every glyph of both files", () => {
  for (const part of [0, 1]) {
    const regular = facesOf(false)[part]!;
    const bold = facesOf(true)[part]!;
    const at = normalizedWeight(bold.tables, 700);
    expect(at).toBeGreaterThan(0);
    let changed = 0;
    for (let g = 0; g < bold.advances.length; g++) {
      const wanted = regular.advances[g]! + widthChange(bold.tables.get("HVAR")!, g, at);
      expect(Math.abs(bold.advances[g]! - wanted), `glyph ${g}`).toBeLessThanOrEqual(0.51);
      if (bold.advances[g] !== regular.advances[g]) changed++;
    }
    expect(changed).toBeGreaterThan(100);
  }
});

/** Ink of a page drawn by an outside program, as a box in millimetres from the upper left. */
function inkOf(items: Item[], dpi: number): { x: number; y: number; w: number; h: number; share: number } {
  const pdf = join(folder, "ink.pdf");
  writeFileSync(
    pdf,
    sheetPdf({
      title: "ink",
      date: "2026-01-01",
      cards: [],
      pages: [{ title: "ink", widthMm: 60, heightMm: 60, items }],
    }),
  );
  const run = spawnSync("pdftoppm", ["-r", String(dpi), "-gray", "-singlefile", pdf, join(folder, "ink")], {
    timeout: 20_000,
    encoding: "utf8",
  });
  expect(run.stderr).toBe("");
  const pgm = readFileSync(join(folder, "ink.pgm"));
  const head = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(pgm.toString("latin1", 0, 40))!;
  const [w, h] = [Number(head[1]), Number(head[2])];
  const at = head[0].length;
  let [left, right, top, bottom, dark] = [w, -1, h, -1, 0];
  for (let y = 0; y < h; y++)
    for (let x = 0; x < w; x++)
      if (pgm[at + y * w + x]! < 128) {
        dark++;
        left = Math.min(left, x);
        right = Math.max(right, x);
        top = Math.min(top, y);
        bottom = Math.max(bottom, y);
      }
  const mm = 25.4 / dpi;
  return {
    x: left * mm,
    y: top * mm,
    w: (right - left + 1) * mm,
    h: (bottom - top + 1) * mm,
    share: dark / ((right - left + 1) * (bottom - top + 1)),
  };
}

test("letters are drawn by an outside program where the outlines say, heavier in bold, composites whole", () => {
  if (!needs("pdftoppm")) return;
  const sizePt = 72;
  const k = (sizePt * 25.4) / 72;
  for (const letter of ["H", "g", "é", "8", "Ł"]) {
    const seen = [false, true].map((bold) => {
      const face = facesOf(bold).find((f) => f.glyphOf(letter.codePointAt(0)!) !== undefined)!;
      const points = face.outline(face.glyphOf(letter.codePointAt(0)!)!).flat();
      const ink = inkOf([text([10, 40], letter, { sizePt, bold })], 200);
      const on = points.filter((p) => p.on);
      const em = face.unitsPerEm;
      // Points on the curve lie within the ink; control points may lie outside it.
      expect(ink.x, letter).toBeLessThan(10 + (Math.min(...on.map((p) => p.x)) / em) * k + 0.2);
      expect(ink.x + ink.w, letter).toBeGreaterThan(10 + (Math.max(...on.map((p) => p.x)) / em) * k - 0.2);
      expect(ink.x, letter).toBeGreaterThan(10 + (Math.min(...points.map((p) => p.x)) / em) * k - 0.2);
      expect(ink.x + ink.w, letter).toBeLessThan(10 + (Math.max(...points.map((p) => p.x)) / em) * k + 0.2);
      expect(ink.y, letter).toBeGreaterThan(40 - (Math.max(...points.map((p) => p.y)) / em) * k - 0.2);
      expect(ink.y + ink.h, letter).toBeLessThan(40 - (Math.min(...points.map((p) => p.y)) / em) * k + 0.2);
      return ink;
    });
    expect(seen[1]!.share, letter).toBeGreaterThan(seen[0]!.share * 1.1);
  }
});

test("words are as wide as an outside program finds them", () => {
  if (!needs("pdftotext")) return;
  const words = "Staging−183.6°";
  const items = [false, true].map((bold, i) => text([5, 20 + 20 * i], words, { sizePt: 12, bold }));
  const pdf = join(folder, "words.pdf");
  writeFileSync(
    pdf,
    sheetPdf({ title: "w", date: "2026-01-01", cards: [], pages: [{ title: "w", widthMm: 90, heightMm: 60, items }] }),
  );
  const run = spawnSync("pdftotext", ["-bbox", pdf, "-"], { encoding: "utf8", timeout: 20_000 });
  const boxes = [...run.stdout.matchAll(/<word xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)" yMax="[\d.]+">([^<]*)</g)];
  expect(boxes.map((b) => b[3])).toEqual([words, words]);
  for (const [i, b] of boxes.entries())
    expect(((Number(b[2]) - Number(b[1])) * 25.4) / 72).toBeCloseTo(textWidthMm(words, 12, i === 1), 1);
});

test("a letter the face lacks is named", () => {
  expect(() => requireGlyphs("Łódź, São, 12.5° −4 “x”")).not.toThrow();
  expect(() => requireGlyphs("Ωmega ≥ 3")).toThrowError(
    expect.objectContaining({
      code: "report.missing-glyph",
      body: expect.objectContaining({ received: "Ω (U+03A9), ≥ (U+2265)" }),
    }),
  );
});
