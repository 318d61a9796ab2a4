import { rm } from "node:fs/promises";
import { join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import { type SheetInput, siteSheet } from "../../src/report/sheet/index.ts";
import { textWidthMm } from "./font/face.ts";
import { sheetHtml } from "./sheet-html.ts";
import { sheetPdf } from "./sheet-pdf.ts";
import { type NamedBytes, writeFilesSafe } from "./write-file.ts";

/**
 * Writes site-sheet.pdf and site-sheet.html into a folder. Where the embedded face lacks a letter of the plan's names
 * the PDF is left out, an older one is taken away, and `note` says which letter; the HTML sheet holds everything.
 */
export async function writeSiteSheet(
  folder: string,
  input: Omit<SheetInput, "meter">,
): Promise<{ files: string[]; note: string }> {
  const sheet = siteSheet({ ...input, meter: textWidthMm });
  const pdfPath = join(folder, "site-sheet.pdf");
  const files: NamedBytes[] = [{ path: join(folder, "site-sheet.html"), bytes: sheetHtml(sheet) }];
  let note = "";
  try {
    files.unshift({ path: pdfPath, bytes: sheetPdf(sheet) });
  } catch (error) {
    if (!(error instanceof HardstandError) || error.code !== "report.missing-glyph") throw error;
    note = `no site-sheet.pdf: ${error.message}: ${error.body.received}; ${error.body.hint}`;
    await rm(pdfPath, { force: true });
  }
  await writeFilesSafe(files);
  return { files: files.map((f) => f.path), note };
}
