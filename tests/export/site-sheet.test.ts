import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { textWidthMm } from "../../server/export/font/face.ts";
import { sheetHtml } from "../../server/export/sheet-html.ts";
import { sheetPdf } from "../../server/export/sheet-pdf.ts";
import { writeSiteSheet } from "../../server/export/site-sheet.ts";
import type { Spot } from "../../src/plan/outputs/types.ts";
import { type Sheet, siteSheet } from "../../src/report/sheet/index.ts";
import { type SheetCase, sheetCase } from "../support/sheet-fixture.ts";
import { needs } from "../support/tools.ts";

let folder: string;
let c: SheetCase;
let sheet: Sheet;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "sheet-"));
  c = await sheetCase();
  sheet = siteSheet({ ...c, paper: "a4", meter: textWidthMm });
});
afterAll(() => rmSync(folder, { recursive: true }));

/** Text of one page as an outside reader finds it; gaps of any kind as one blank, the true minus as a hyphen. */
function pageText(bytes: Uint8Array, page: number): string {
  const file = join(folder, "text.pdf");
  writeFileSync(file, bytes);
  const run = spawnSync("pdftotext", ["-layout", "-f", String(page), "-l", String(page), file, "-"], {
    encoding: "utf8",
    timeout: 20_000,
  });
  expect(run.stderr).toBe("");
  return run.stdout.replace(/[ \u00a0\u2009]+/g, " ").replaceAll("−", "-");
}

const roles = (): Spot[] => c.answer.spots.filter((s) => s.role !== "none");

describe("numbers on paper are the answer's", () => {
  test("place, heading, pointing, margins and limiting directions of every spot", () => {
    if (!needs("pdftotext")) return;
    const bytes = sheetPdf(sheet);
    expect(roles().length).toBeGreaterThan(1);
    for (const [i, s] of roles().entries()) {
      const words = pageText(bytes, i + 1);
      expect(words).toContain(`spot ${s.rank}, ${s.name}`);
      expect(words).toContain(s.usng);
      expect(words).toContain(`${s.lat.toFixed(5)}, ${s.lng.toFixed(5)}`);
      const [, latDeg, latMin, lngDeg, lngMin] = /(\d+)-(\d\d\.\d{3})N (\d+)-(\d\d\.\d{3})W/.exec(words)!.map(Number);
      expect(latDeg! + latMin! / 60).toBeCloseTo(s.lat, 4);
      expect(-(lngDeg! + lngMin! / 60)).toBeCloseTo(s.lng, 4);
      expect(words).toContain(`${s.groundAmslM!.toFixed(1)} m`);
      expect(words).toContain(`score ${s.score.toFixed(1)}`);
      const v = s.satellites[0]!;
      for (const figure of [v.azimuthMagneticDeg, v.azimuthDeg, v.elevationDeg])
        expect(words).toContain(`${figure.toFixed(1)}°`);
      expect(words).toContain(`${v.clearanceDeg!.toFixed(1)}° clear`);
      for (const p of s.points) {
        const row = words
          .split("\n")
          .find((l) => l.includes(` ${p.name} `) && l.includes(p.need) && l.includes(p.rung));
        expect(row, p.name).toBeDefined();
        expect(row).toContain(`${p.marginDb! < 0 ? "-" : "+"}${Math.abs(p.marginDb!).toFixed(1)}`);
        expect(row).toContain(p.limitingDirection!);
        expect(row).toContain(`${Math.round(p.target * 100)} %`);
        if (p.tiles) expect(row).toContain(`${p.tiles.served}/${p.tiles.count} tiles`);
      }
      for (const k of s.checks.filter((k) => k.id.startsWith("power-line"))) {
        const name = k.id.endsWith("line") ? "Side line" : "Top line";
        const row = words.split("\n").find((l) => l.includes(`Power line: ${name}`))!;
        expect(row).toContain(`${k.value!.toFixed(1)} m`);
        // A distance to be kept is never printed shorter than it is.
        const printed = Number(/min ([\d.]+) m/.exec(row)![1]);
        expect(printed).toBeGreaterThanOrEqual(k.limit!);
        expect(printed).toBeLessThan(k.limit! + 0.1);
      }
      expect(words).toContain("refuel by hour 24");
      expect(words).toContain("Landowner: given");
      expect(words).toContain("Utility: no record");
    }
    const last = pageText(bytes, sheet.pages.length);
    for (const hash of Object.values(c.loaded.hashes)) expect(last).toContain(hash);
    for (const m of c.answer.provenance.models) expect(last).toContain(`${m.id}: ${m.edition}`);
    for (const s of c.answer.spots) expect(last).toContain(s.usng);
    expect(last).toContain("Gate shut at night.");
  });

  test("what is not known reads unknown, and nothing is promised", () => {
    const answer = structuredClone(c.answer);
    const s = answer.spots[0]!;
    s.points[0] = {
      ...s.points[0]!,
      probability: null,
      met: null,
      marginDb: null,
      limitingDirection: null,
      tiles: null,
    };
    s.groundAmslM = null;
    s.checks = s.checks.map((k) =>
      k.id === "slope" ? { ...k, status: "unknown", value: null, text: "Slope is unknown." } : k,
    );
    s.satellites = s.satellites.map((v) => ({ ...v, clear: null, clearanceDeg: null }));
    s.topThreePct = 100;
    const loaded = structuredClone(c.loaded);
    delete loaded.plan.unit.fuelL;
    const words = allText(siteSheet({ ...c, loaded, answer, sky: new Map(), paper: "a4", meter: textWidthMm }));
    expect(words.filter((t) => t === "unknown").length).toBeGreaterThanOrEqual(4);
    expect(words.join(" ")).toContain("how long it runs is unknown");
    expect(words.join(" ")).toContain("The horizon strip was not computed for this sheet.");
    expect(words.join(" ")).not.toMatch(/\b100(\.0)?[ \u00a0]%|guarantee|NaN|undefined|null|Infinity/);
  });
});

function allText(s: Sheet): string[] {
  const out: string[] = [];
  const gather = (items: Sheet["pages"][number]["items"]): void => {
    for (const i of items) {
      if (i.kind === "text") out.push(i.text);
      if (i.kind === "clip") gather([...i.items]);
    }
  };
  for (const p of s.pages) gather(p.items);
  return out;
}

test("100 m on the ground are 100 m on the paper at the printed scale, north–south and east–west", () => {
  const pdf = Buffer.from(sheetPdf(sheet, { packed: false })).toString("latin1");
  // Lengths of two-point lines of the width power lines have, in points of the page.
  const page = /stream\n([\s\S]*?)endstream/.exec(pdf)![1]!;
  const scaleOf = Number(/^([\d.]+) 0 0 -/m.exec(page)![1]);
  const lines = [...page.matchAll(/0 G 0\.4 w [^\n]*?d ([\d.-]+) ([\d.-]+) m ([\d.-]+) ([\d.-]+) l S/g)].map((m) => {
    const [x1, y1, x2, y2] = m.slice(1).map(Number) as [number, number, number, number];
    return { lengthPt: Math.hypot(x2 - x1, y2 - y1) * scaleOf, upright: Math.abs(y2 - y1) > Math.abs(x2 - x1) };
  });
  const printed = allText({ ...sheet, pages: [sheet.pages[0]!] }).find((t) => /^1:/.test(t))!;
  const scale = Number(/^1:([\d\u00a0]+)/.exec(printed)![1]!.replaceAll("\u00a0", ""));
  const onMap = lines.slice(0, 2);
  expect(onMap.map((l) => l.upright).sort()).toEqual([false, true]);
  for (const l of onMap) {
    const metres = ((l.lengthPt * 25.4) / 72 / 1000) * scale;
    // The frame is true to 1 in 10 000; coordinates are written to a thousandth of a millimetre.
    expect(Math.abs(metres - 100)).toBeLessThan(0.01 + (0.0015 * scale) / 1000);
  }
});

test("the same answer gives the same bytes, dated by the plan", () => {
  const again = siteSheet({ ...c, paper: "a4", meter: textWidthMm });
  expect(Buffer.compare(Buffer.from(sheetPdf(sheet)), Buffer.from(sheetPdf(again)))).toBe(0);
  expect(sheetHtml(sheet)).toBe(sheetHtml(again));
  expect(Buffer.from(sheetPdf(sheet)).toString("latin1")).toContain("/CreationDate (D:20260912120000Z)");
});

test("an outside reader finds the pages, their size and nothing but embedded letters", () => {
  if (!needs("pdfinfo") || !needs("pdffonts")) return;
  const file = join(folder, "info.pdf");
  for (const [paper, size] of [
    ["a4", [210, 297]],
    ["letter", [215.9, 279.4]],
  ] as const) {
    const made = siteSheet({ ...c, paper, meter: textWidthMm });
    writeFileSync(file, sheetPdf(made));
    const info = spawnSync("pdfinfo", [file], { encoding: "utf8", timeout: 20_000 });
    expect(info.stderr).toBe("");
    expect(info.stdout).toMatch(new RegExp(`Pages:\\s+${made.pages.length}\\n`));
    const [w, h] = /Page size:\s+([\d.]+) x ([\d.]+)/
      .exec(info.stdout)!
      .slice(1)
      .map((v) => (Number(v) * 25.4) / 72);
    expect(w).toBeCloseTo(size[0], 1);
    expect(h).toBeCloseTo(size[1], 1);
    const fonts = spawnSync("pdffonts", [file], { encoding: "utf8", timeout: 20_000 })
      .stdout.trim()
      .split("\n")
      .slice(2);
    expect(fonts.length).toBeGreaterThanOrEqual(2);
    for (const f of fonts) expect(f).toMatch(/Identity-H\s+yes yes yes/);
  }
});

describe("the HTML sheet", () => {
  test("asks nothing of anybody and holds the same words", () => {
    const html = sheetHtml(sheet);
    expect(html.replaceAll("http://www.w3.org/2000/svg", "")).not.toMatch(
      /https?:|\bsrc=|<script|<link|@import|url\((?!data:|#)/,
    );
    expect(html).toContain("default-src 'none'");
    const plain = html
      .replaceAll("&lt;", "<")
      .replaceAll("&gt;", ">")
      .replaceAll("&quot;", '"')
      .replaceAll("&amp;", "&");
    for (const t of allText(sheet)) expect(plain).toContain(t);
    // Both parts of the face: the plan's name has letters beyond western ones.
    expect(html.match(/@font-face/g)).toHaveLength(2);
  });

  test("its drawing is well-formed XML", () => {
    if (!needs("xmllint")) return;
    const svgs = sheetHtml(sheet).match(/<svg[\s\S]*?<\/svg>/g)!;
    expect(svgs).toHaveLength(sheet.pages.length);
    for (const svg of svgs) {
      const run = spawnSync("xmllint", ["--noout", "-"], { input: svg, encoding: "utf8", timeout: 20_000 });
      expect(run.stderr).toBe("");
    }
  });
});

test("a name the face cannot write leaves the PDF out and says so; the HTML has it", async () => {
  const out = join(folder, "out");
  const first = await writeSiteSheet(out, { ...c, paper: "a4" });
  expect(first.files.map((f) => f.split("/").at(-1))).toEqual(["site-sheet.pdf", "site-sheet.html"]);
  const loaded = structuredClone(c.loaded);
  loaded.plan.name = "Πεδίο";
  const second = await writeSiteSheet(out, { ...c, loaded, paper: "a4" });
  expect(second.note).toContain("U+03A0");
  expect(existsSync(join(out, "site-sheet.pdf"))).toBe(false);
  expect(readFileSync(join(out, "site-sheet.html"), "utf8")).toContain("Πεδίο");
});
