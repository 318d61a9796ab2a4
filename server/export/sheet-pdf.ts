import type { Item, Page, Sheet, TextItem } from "../../src/report/sheet/index.ts";
import { requireGlyphs, setText } from "./font/face.ts";
import { PdfFile, pdfNumber, pdfText } from "./pdf-file.ts";
import { PdfFonts } from "./pdf-fonts.ts";

const PT_PER_MM = 72 / 25.4;
const n = pdfNumber;

/** The sheet as a PDF: vectors and embedded letters, nothing of the screen. The same sheet gives the same bytes. */
export function sheetPdf(sheet: Sheet, options: { packed?: boolean } = {}): Uint8Array {
  const file = new PdfFile();
  const fonts = new PdfFonts();
  const packed = options.packed ?? true;
  const contents = sheet.pages.map((p) => file.addStream(pageContent(p, fonts), "", packed));
  const resources = file.add(`<< /Font ${fonts.write(file)} >>`);
  const tree = file.reserve();
  const pages = sheet.pages.map((p, i) =>
    file.add(
      `<< /Type /Page /Parent ${tree} 0 R /MediaBox [0 0 ${n(p.widthMm * PT_PER_MM)} ${n(p.heightMm * PT_PER_MM)}] /Resources ${resources} 0 R /Contents ${contents[i]} 0 R >>`,
    ),
  );
  file.set(tree, `<< /Type /Pages /Kids [${pages.map((p) => `${p} 0 R`).join(" ")}] /Count ${pages.length} >>`);
  const outline = writeOutline(file, sheet, pages);
  const root = file.add(
    `<< /Type /Catalog /Pages ${tree} 0 R /Lang (en) /Outlines ${outline} 0 R /ViewerPreferences << /DisplayDocTitle true >> >>`,
  );
  const day = sheet.date.slice(0, 10).replaceAll("-", "");
  const info = file.add(
    `<< /Title ${pdfText(sheet.title)} /Creator (Hardstand) /Producer (Hardstand) /CreationDate (D:${day}120000Z) >>`,
  );
  return file.bytes(root, info);
}

/** Bookmarks: one a page that begins a part. */
function writeOutline(file: PdfFile, sheet: Sheet, pages: readonly number[]): number {
  const root = file.reserve();
  const first = sheet.pages
    .map((p, i) => ({ p, i }))
    .filter(({ p, i }) => i === 0 || sheet.pages[i - 1]!.title !== p.title);
  const ids = first.map(() => file.reserve());
  for (const [k, { p, i }] of first.entries())
    file.set(
      ids[k]!,
      `<< /Title ${pdfText(p.title)} /Parent ${root} 0 R /Dest [${pages[i]} 0 R /Fit]${k > 0 ? ` /Prev ${ids[k - 1]} 0 R` : ""}${k + 1 < ids.length ? ` /Next ${ids[k + 1]} 0 R` : ""} >>`,
    );
  file.set(root, `<< /Type /Outlines /First ${ids[0]} 0 R /Last ${ids.at(-1)} 0 R /Count ${ids.length} >>`);
  return root;
}

function pageContent(page: Page, fonts: PdfFonts): string {
  const out: string[] = [];
  // Millimetres from the upper left, down, as the draw list has them.
  out.push(`${n(PT_PER_MM)} 0 0 ${n(-PT_PER_MM)} 0 ${n(page.heightMm * PT_PER_MM)} cm`);
  // Five decimals there keep a page's width to a thousandth of a millimetre.
  out[0] = `${PT_PER_MM.toFixed(6)} 0 0 ${(-PT_PER_MM).toFixed(6)} 0 ${n(page.heightMm * PT_PER_MM)} cm`;
  draw(page.items, fonts, out);
  return `${out.join("\n")}\n`;
}

function draw(items: readonly Item[], fonts: PdfFonts, out: string[]): void {
  for (const item of items)
    if (item.kind === "clip") {
      const { x, y, w, h } = item.box;
      out.push(`q ${n(x)} ${n(y)} ${n(w)} ${n(h)} re W n`);
      draw(item.items, fonts, out);
      out.push("Q");
    } else if (item.kind === "text") drawText(item, fonts, out);
    else {
      const { stroke, fill } = item;
      if (!stroke && fill === null) continue;
      const path = item.lines
        .map(
          (l) => l.map(([x, y], i) => `${n(x)} ${n(y)} ${i === 0 ? "m" : "l"}`).join(" ") + (item.closed ? " h" : ""),
        )
        .join(" ");
      const set: string[] = ["q"];
      if (fill !== null) set.push(`${n(fill)} g`);
      if (stroke)
        set.push(
          `${n(stroke.gray)} G ${n(stroke.widthMm)} w 1 j ${stroke.round ? 1 : 0} J [${(stroke.dashMm ?? []).map(n).join(" ")}] 0 d`,
        );
      const paint = fill !== null && stroke ? "B*" : fill !== null ? "f*" : "S";
      out.push(`${set.join(" ")} ${path} ${paint} Q`);
    }
}

function drawText(item: TextItem, fonts: PdfFonts, out: string[]): void {
  if (item.text === "") return;
  requireGlyphs(item.text);
  const sizeMm = item.sizePt / PT_PER_MM;
  const runs = fonts.runs(item.text, item.bold);
  const width = runs.reduce((s, r) => s + r.em, 0) * sizeMm;
  let x = item.at[0] - (item.anchor === "end" ? width : item.anchor === "middle" ? width / 2 : 0);
  const y = item.at[1];
  if (item.haloMm) out.push(halo(item, x, y, sizeMm));
  for (const r of runs) {
    // The page is turned upside down for the draw list; letters are turned back.
    out.push(`BT ${n(item.gray)} g /${r.font} ${sizeMm.toFixed(5)} Tf 1 0 0 -1 ${n(x)} ${n(y)} Tm <${r.glyphs}> Tj ET`);
    x += r.em * sizeMm;
  }
}

/** A white edge as outlines, not as letters, so that the text stands once in the file. */
function halo(item: TextItem, left: number, y: number, sizeMm: number): string {
  const parts: string[] = [];
  let x = left;
  for (const g of setText(item.text, item.bold)) {
    const k = sizeMm / g.face.unitsPerEm;
    for (const contour of g.face.outline(g.glyph)) {
      if (contour.length < 2) continue;
      // A polygon through the curve's control points is near enough under a stroke this wide.
      parts.push(contour.map((p, i) => `${n(x + p.x * k)} ${n(y - p.y * k)} ${i === 0 ? "m" : "l"}`).join(" "), "h");
    }
    x += g.face.advances[g.glyph]! * k;
  }
  return parts.length === 0 ? "" : `q 1 G ${n(item.haloMm! * 1.4)} w 1 j [] 0 d ${parts.join(" ")} S Q`;
}
