import type { Face } from "./font/face.ts";
import { setText } from "./font/face.ts";
import { subsetTrueType } from "./font/subset.ts";
import { type PdfFile, pdfNumber } from "./pdf-file.ts";

interface Used {
  name: string;
  face: Face;
  /** Glyph of the face → its number in the embedded subset. */
  numbers: Map<number, number>;
  letters: Map<number, number>;
}

const hex = (n: number, digits = 4): string => n.toString(16).toUpperCase().padStart(digits, "0");

/** Faces used by a document; each is embedded once, with the letters that occur. */
export class PdfFonts {
  private readonly used = new Map<Face, Used>();

  private of(face: Face): Used {
    let u = this.used.get(face);
    if (!u) {
      u = { name: `F${this.used.size + 1}`, face, numbers: new Map([[0, 0]]), letters: new Map() };
      this.used.set(face, u);
    }
    return u;
  }

  /** Runs of one face each: resource name, glyph string in hexadecimal, width in ems. */
  runs(words: string, bold: boolean): { font: string; glyphs: string; em: number }[] {
    const out: { font: string; glyphs: string; em: number }[] = [];
    for (const g of setText(words, bold)) {
      const u = this.of(g.face);
      let n = u.numbers.get(g.glyph);
      if (n === undefined) {
        n = u.numbers.size;
        u.numbers.set(g.glyph, n);
      }
      u.letters.set(n, g.codePoint);
      const em = g.face.advances[g.glyph]! / g.face.unitsPerEm;
      const last = out.at(-1);
      if (last?.font === u.name) {
        last.glyphs += hex(n);
        last.em += em;
      } else out.push({ font: u.name, glyphs: hex(n), em });
    }
    return out;
  }

  /** Writes the fonts as composite fonts with the subset's own glyph numbers (ISO 32000-1 §9.7); gives the resource dictionary. */
  write(file: PdfFile): string {
    const rows: string[] = [];
    for (const [k, u] of [...this.used.values()].entries()) {
      const { face } = u;
      const glyphs = [...u.numbers.keys()];
      const per = 1000 / face.unitsPerEm;
      const data = subsetTrueType(face, glyphs);
      const fontFile = file.addStream(data, `/Length1 ${data.length}`);
      // Six letters before a plus mark a subset (§9.6.4).
      const name = `${"ABCDEFGH"[k]!.repeat(6)}+${face.name}`;
      const descriptor = file.add(
        `<< /Type /FontDescriptor /FontName /${name} /Flags 4 /FontBBox [-200 ${Math.round(face.descent * per)} 1200 ${Math.round(face.ascent * per)}] /ItalicAngle 0 /Ascent ${Math.round(face.ascent * per)} /Descent ${Math.round(face.descent * per)} /CapHeight ${Math.round(face.capHeight * per)} /StemV ${face.weight > 500 ? 140 : 85} /FontFile2 ${fontFile} 0 R >>`,
      );
      const widths = glyphs.map((g) => pdfNumber(face.advances[g]! * per)).join(" ");
      const descendant = file.add(
        `<< /Type /Font /Subtype /CIDFontType2 /BaseFont /${name} /CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >> /FontDescriptor ${descriptor} 0 R /DW 500 /W [0 [${widths}]] /CIDToGIDMap /Identity >>`,
      );
      const unicode = file.addStream(toUnicode(u.letters));
      const font = file.add(
        `<< /Type /Font /Subtype /Type0 /BaseFont /${name} /Encoding /Identity-H /DescendantFonts [${descendant} 0 R] /ToUnicode ${unicode} 0 R >>`,
      );
      rows.push(`/${u.name} ${font} 0 R`);
    }
    return `<< ${rows.join(" ")} >>`;
  }
}

/** Glyph numbers back to letters, so that text can be searched and copied (ISO 32000-1 §9.10.3). */
function toUnicode(letters: ReadonlyMap<number, number>): string {
  const pairs = [...letters].map(([n, c]) => {
    const s = String.fromCodePoint(c);
    return `<${hex(n)}> <${Array.from({ length: s.length }, (_, i) => hex(s.charCodeAt(i))).join("")}>`;
  });
  const blocks: string[] = [];
  for (let i = 0; i < pairs.length; i += 100) {
    const part = pairs.slice(i, i + 100);
    blocks.push(`${part.length} beginbfchar\n${part.join("\n")}\nendbfchar`);
  }
  return `/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n/CMapName /Letters def\n/CMapType 2 def\n1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n${blocks.join("\n")}\nendcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n`;
}
