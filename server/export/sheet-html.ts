import type { Card, Item, Page, Sheet } from "../../src/report/sheet/index.ts";
import { FONT_FILES, fontFile, setText } from "./font/face.ts";

const MM_PER_PT = 25.4 / 72;
const n = (v: number): string => String(Number(v.toFixed(3)));
const xml = (text: string): string =>
  text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;").replaceAll('"', "&quot;");
const gray = (g: number): string => {
  const h = Math.round(g * 255)
    .toString(16)
    .padStart(2, "0");
  return `#${h}${h}${h}`;
};

/**
 * The sheet as one HTML file that needs nothing else: the same drawing as inline SVG at true size for printing, the
 * main figures as text for a phone, the face inside. Letters the face lacks are shown in the reader's own.
 */
export function sheetHtml(sheet: Sheet): string {
  const pages = sheet.pages.map((p, i) => pageSvg(p, i));
  const [first] = sheet.pages;
  const size = first ? `${n(first.widthMm)}mm ${n(first.heightMm)}mm` : "210mm 297mm";
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; font-src data:">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${xml(sheet.title)}</title>
<style>
${fontFaces(sheet)}
@page{size:${size};margin:0}
body{margin:0;background:#fff;color:#000;font:16px/1.45 "Hardstand Sans",sans-serif}
main{max-width:230mm;margin:0 auto}
.card{padding:12px 16px;border-bottom:3px solid #000}
.card h2{margin:0;font-size:20px}
.card p{margin:2px 0 10px}
.card dl{display:grid;grid-template-columns:minmax(8em,2fr) 3fr;gap:4px 12px;margin:0}
.card dt{color:#333}
.card dd{margin:0;font-weight:700}
.page{overflow-x:auto;margin:16px 0}
.page svg{display:block;width:100%;min-width:190mm;height:auto;border:1px solid #999}
svg text{font-family:"Hardstand Sans",sans-serif;font-kerning:none;font-variant-ligatures:none;white-space:pre}
@media print{.card,.skip{display:none}main{max-width:none}.page{margin:0;overflow:visible;break-after:page}.page:last-child{break-after:auto}.page svg{width:${size.split(" ")[0]};min-width:0;border:0}}
</style>
</head>
<body>
<main>
<h1 class="card">${xml(sheet.title)}</h1>
${sheet.cards.map(cardHtml).join("\n")}
${pages.join("\n")}
</main>
</body>
</html>
`;
}

/** Only the parts of the face that the sheet needs. */
function fontFaces(sheet: Sheet): string {
  const letters = new Set<string>();
  const gather = (items: readonly Item[]): void => {
    for (const i of items) {
      if (i.kind === "text") for (const c of i.text) letters.add(c);
      if (i.kind === "clip") gather(i.items);
    }
  };
  for (const p of sheet.pages) gather(p.items);
  for (const c of sheet.cards)
    for (const t of [c.title, c.under, ...c.rows.flat(), ...c.cautions]) for (const l of t) letters.add(l);
  const used = new Set(setText([...letters].join(""), false).map((g) => g.face.name));
  return FONT_FILES.filter((_, i) => i === 0 || [...used].some((name) => name.endsWith("Ext")))
    .map(
      (file) =>
        `@font-face{font-family:"Hardstand Sans";font-weight:200 800;src:url(data:font/woff2;base64,${Buffer.from(fontFile(file)).toString("base64")})${file.includes("-latin-ext-") ? ";unicode-range:U+0100-024F,U+1E00-1EFF,U+2C60-2C7F,U+A720-A7FF" : ""}}`,
    )
    .join("\n");
}

const cardHtml = (c: Card): string =>
  `<section class="card"><h2>${xml(c.title)}</h2><p>${xml(c.under)}</p><dl>${c.rows
    .map(([label, value]) => `<dt>${xml(label)}</dt><dd>${xml(value)}</dd>`)
    .join("")}</dl><p>${xml(c.cautions.join(" "))}</p></section>`;

function pageSvg(page: Page, index: number): string {
  const clips: string[] = [];
  const body = draw(page.items, index, clips);
  return `<div class="page"><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${n(page.widthMm)} ${n(page.heightMm)}" width="${n(page.widthMm)}mm" height="${n(page.heightMm)}mm" role="img" aria-label="${xml(page.title)}"><defs>${clips.join("")}</defs>${body}</svg></div>`;
}

function draw(items: readonly Item[], page: number, clips: string[]): string {
  const out: string[] = [];
  for (const item of items)
    if (item.kind === "clip") {
      const id = `c${page}-${clips.length}`;
      const { x, y, w, h } = item.box;
      clips.push(`<clipPath id="${id}"><rect x="${n(x)}" y="${n(y)}" width="${n(w)}" height="${n(h)}"/></clipPath>`);
      out.push(`<g clip-path="url(#${id})">${draw(item.items, page, clips)}</g>`);
    } else if (item.kind === "text") {
      const halo = item.haloMm
        ? ` stroke="#fff" stroke-width="${n(item.haloMm * 1.4)}" stroke-linejoin="round" paint-order="stroke"`
        : "";
      out.push(
        `<text x="${n(item.at[0])}" y="${n(item.at[1])}" font-size="${n(item.sizePt * MM_PER_PT)}"${item.bold ? ' font-weight="700"' : ""}${item.anchor === "start" ? "" : ` text-anchor="${item.anchor}"`} fill="${gray(item.gray)}"${halo}>${xml(item.text)}</text>`,
      );
    } else {
      const { stroke, fill } = item;
      const d = item.lines
        .map((l) => `M${l.map(([x, y]) => `${n(x)} ${n(y)}`).join("L")}${item.closed ? "Z" : ""}`)
        .join("");
      const dash = stroke?.dashMm?.length ? ` stroke-dasharray="${stroke.dashMm.map(n).join(" ")}"` : "";
      const line = stroke
        ? ` stroke="${gray(stroke.gray)}" stroke-width="${n(stroke.widthMm)}" stroke-linejoin="round"${stroke.round ? ' stroke-linecap="round"' : ""}${dash}`
        : "";
      out.push(
        `<path d="${d}" fill="${fill === null ? "none" : gray(fill)}"${fill === null ? "" : ' fill-rule="evenodd"'}${line}/>`,
      );
    }
  return out.join("");
}
