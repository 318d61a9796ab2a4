import type { Block, Cell } from "./block.ts";
import { gap, heading, type MarkKind, paragraph, stack, table } from "./block.ts";
import { type Item, moved } from "./draw.ts";
import { dayText, num, ofDraws, sentenceCase } from "./format.ts";
import { fuelBlock } from "./power.ts";
import { siteMap } from "./site-map.ts";
import type { PageSize } from "./spot-page.ts";
import { consentsOf, noCanopy, pageHead, type SheetInput, withNames } from "./spot-parts.ts";

const DECIDED: Record<string, string> = {
  first: "the only one",
  stand: "stand",
  musts: "musts",
  "unknown-musts": "unknown musts",
  score: "score",
  redundancy: "ways back",
  backhaul: "way back",
  clearance: "sky clearance",
  access: "access",
  order: "order found",
};

function spotRows(input: SheetInput, w: number): Block[] {
  const { answer, meter } = input;
  const rows = answer.spots.map((s): Cell[] => {
    const musts = s.mustsShort > 0 ? `${s.mustsShort} short` : s.mustsUnknown > 0 ? `${s.mustsUnknown} unknown` : "met";
    const state: MarkKind = s.checks.some((c) => c.status === "fail")
      ? "fail"
      : s.mustsShort > 0
        ? "short"
        : s.mustsUnknown > 0
          ? "unknown"
          : s.checks.some((c) => c.status !== "pass")
            ? "caution"
            : "pass";
    const back = s.backhaul.find((b) => b.status === "pass")?.kind ?? "none";
    return [
      { mark: state },
      { text: String(s.rank), bold: true },
      { text: s.name, bold: s.role !== "none" },
      s.role === "none" ? "" : s.role,
      s.usng,
      num(s.score, 1) + (s.tied ? " tied" : ""),
      musts,
      back,
      s.stabilityPct === null ? "not tried" : ofDraws(s.stabilityPct),
      DECIDED[s.decidedBy] ?? s.decidedBy,
    ];
  });
  const widths = [4, 6, 0, 20, 35, 17, 15, 16, 14, 20];
  widths[2] = w - widths.reduce((a, b) => a + b, 0);
  const titles = ["", "", "Spot", "Role", "USNG", "Score", "Musts", "Way back", "First in", "Decided by"];
  return [
    heading("Spots", w, meter, "first in: share of seeded draws of the model’s error in which the spot comes first"),
    ...table(
      titles.map((title, i) => ({ title, w: widths[i]!, ...(i === 5 || i === 8 ? { align: "end" as const } : {}) })),
      rows,
      meter,
    ),
  ];
}

function whyNot(input: SheetInput, w: number): Block[] {
  const { answer, meter } = input;
  const rows = answer.spots.map((s): Cell[] => {
    const first = answer.spots[0]!;
    // What a reader wants here is what it lacks, not whom it beats.
    const lost = s.reasons.filter(
      (r) => !/^(All |The one must reaches|Ahead of|First in|Level with|Nothing the plan)/.test(r),
    );
    const fails = s.checks.filter((c) => c.status === "fail").map((c) => c.text);
    const words = [...fails, ...lost];
    if (words.length === 0)
      words.push(
        s === first
          ? "Nothing is lost."
          : `Loses nothing outright; score ${num(s.score, 1)} against ${num(first.score, 1)}.`,
      );
    return [{ text: String(s.rank), bold: true }, s.name, withNames(words.join(" "), input.loaded)];
  });
  const out: Block[] = [
    heading("Why the others stand behind", w, meter),
    ...table(
      [
        { title: "", w: 6 },
        { title: "Spot", w: 40 },
        { title: "What it loses", w: w - 46 },
      ],
      rows,
      meter,
    ),
  ];
  const struck = answer.rejected.filter((r) => r.hectares > 0);
  out.push(gap(1.5));
  out.push(
    paragraph(
      struck.length === 0
        ? "No ground was struck out."
        : `Ground struck out, each cell under its first reason: ${struck.map((r) => `${r.reason} ${num(r.hectares, 2)} ha`).join(", ")}.`,
      w,
      meter,
      { sizePt: 8 },
    ),
  );
  for (const m of answer.nearestMisses)
    out.push(
      paragraph(
        [
          { text: `Nearest miss ${m.usng}, score ${num(m.score, 1)}: `, bold: true },
          { text: `${m.text} ${m.fixes.map((f) => f.text).join(" ")}` },
        ],
        w,
        meter,
        { sizePt: 8 },
      ),
    );
  return out;
}

function consentTable(input: SheetInput, w: number): Block[] {
  const { loaded, meter } = input;
  return [
    heading("Consents", w, meter),
    ...table(
      [
        { title: "Who", w: 32 },
        { title: "Name", w: 44 },
        { title: "State", w: 24 },
        { title: "Conditions", w: w - 148 },
        { title: "Signed, time", w: 48 },
      ],
      consentsOf(loaded).map((c) => [c.who, c.name, { text: c.state, bold: c.state !== "given" }, c.conditions, ""]),
      meter,
    ),
  ];
}

function fileTable(input: SheetInput, w: number): Block[] {
  const { loaded, answer, meter } = input;
  const { terrain } = loaded.plan;
  const about = new Map<string, string>();
  for (const kind of ["ground", "surface", "canopy"] as const)
    for (const e of terrain[kind] ?? []) {
      const f = typeof e === "string" ? { file: e } : e;
      const date = "date" in f && f.date ? f.date : "date unknown";
      const datum =
        "verticalDatum" in f && f.verticalDatum
          ? `, ${/\d/.test(f.verticalDatum) || f.verticalDatum === "nap" ? f.verticalDatum.toUpperCase() : f.verticalDatum}`
          : "";
      about.set(f.file, `${kind}, ${date}${kind === "canopy" ? "" : datum}`);
    }
  for (const f of terrain.landCover?.files ?? []) about.set(f, `land cover, ${terrain.landCover!.scheme}`);
  if (terrain.buildings) about.set(terrain.buildings, "buildings, date unknown");
  const rows = Object.entries(answer.provenance.files).map(([file, hash]): Cell[] => [
    file,
    about.get(file) ?? (file.endsWith(".plan.json") ? "the plan" : "named by the plan"),
    hash,
  ]);
  return [
    heading("Data", w, meter, "file, kind and date, SHA-256"),
    ...table(
      [
        { title: "File", w: 36 },
        { title: "What", w: 38 },
        { title: "SHA-256", w: w - 74 },
      ],
      rows,
      meter,
    ),
  ];
}

function notesBlock(input: SheetInput, w: number): Block[] {
  const { loaded, scene, answer, meter } = input;
  const notes = new Set([...answer.warnings, ...loaded.warnings, ...scene.warnings].map((x) => x.text));
  const small = { sizePt: 8 };
  const out: Block[] = [];
  if (!scene.hasSurface) notes.add("Bare earth only: trees and buildings are not in it.");
  else if (!scene.canopyM && (loaded.plan.terrain.surface?.length ?? 0) > 0) notes.add(noCanopy(loaded));
  if (scene.groundEstimated) notes.add("Ground is estimated from a surface; stand checks are at best caution.");
  if (notes.size > 0)
    out.push(
      heading("What is not known, what was assumed", w, meter),
      paragraph([...notes].join(" "), w, meter, small),
      gap(2),
    );
  out.push(
    heading("Models and versions", w, meter),
    paragraph(
      `${answer.provenance.models.map((m) => `${m.id}: ${m.edition}`).join("; ")}. Seed ${answer.provenance.seed}, Hardstand ${answer.provenance.version}, magnetic values for ${dayText(answer.provenance.date)}, ${loaded.plan.season ?? "leaf-on"}. Screening differs from full prediction by at most ${num(answer.screening.deltaScore, 1)} points in 99 of 100 cells.`,
      w,
      meter,
      small,
    ),
    gap(2),
    heading("Cautions", w, meter),
    paragraph(answer.cautions.join(" "), w, meter, small),
  );
  return out;
}

/** The summary: every spot, why the others stand behind, consents, data, models. Runs on to more pages as it needs. */
export function summaryPages(input: SheetInput, size: PageSize, number: (page: number) => string): Item[][] {
  const { loaded, answer, meter } = input;
  const w = size.widthMm - 2 * size.margin;
  const room = size.heightMm - 2 * size.margin;
  const p = answer.parking;
  const title = "Site sheet: summary";
  const right = (page: number) => [number(page), `For ${dayText(answer.provenance.date)}`];
  const lead = paragraph(
    [
      {
        text:
          answer.feasibleCount === 0
            ? "No spot serves every must. "
            : `${answer.feasibleCount} of ${answer.spots.length} spots serve every must. `,
        bold: true,
      },
      {
        text: `${num(p.usableHectares, 2)} of ${num(p.totalHectares, 2)} ha of parking can be used; every cell of ${num(p.cellM, 1)} m was tested. ${loaded.plan.notes ?? ""}`,
      },
    ],
    w,
    meter,
  );
  const mapW = w * 0.6;
  const mapH = 78;
  const map = siteMap(
    { x: 0, y: 0, w: mapW, h: mapH },
    input,
    null,
    answer.spots.filter((s) => s.role !== "none"),
  );
  const sideW = w - mapW - 5;
  const roles = answer.spots.filter((s) => s.role !== "none");
  const side = stack([
    heading("In which order", sideW, meter),
    ...(roles.length === 0
      ? [paragraph("No spot may be used as it stands.", sideW, meter)]
      : roles.map((s) =>
          stack([
            paragraph(
              [{ text: `${sentenceCase(s.role)}: spot ${s.rank}`, bold: true }, { text: `, ${s.name}` }],
              sideW,
              meter,
            ),
            paragraph(`${s.usng}, score ${num(s.score, 1)}`, sideW, meter, { sizePt: 8 }),
            gap(1),
          ]),
        )),
    gap(1.5),
    fuelBlock(loaded, sideW, meter),
    gap(1.5),
    paragraph(map.caption, sideW, meter, { sizePt: 8 }),
  ]);
  const top: Block = { w, h: Math.max(mapH, side.h), items: [...map.items, ...moved(side.items, mapW + 5, 0)] };

  const groups: Block[][] = [
    [lead, gap(2)],
    [top, gap(3)],
    [...spotRows(input, w), gap(3)],
    [...whyNot(input, w), gap(3)],
    [...consentTable(input, w), gap(3)],
    [...fileTable(input, w), gap(3)],
    notesBlock(input, w),
  ];
  const pages: Item[][] = [];
  let items: Item[] = [];
  let y = 0;
  const put = (b: Block): void => {
    items.push(...moved(b.items, size.margin, size.margin + y));
    y += b.h;
  };
  const turn = (): void => {
    if (items.length > 0) pages.push(items);
    items = [];
    y = 0;
    const page = pages.length + 1;
    put(pageHead(w, page === 1 ? title : `${title}, continued`, loaded.plan.name, right(page), meter));
    y += 1.5;
  };
  turn();
  for (const group of groups)
    for (const [i, b] of group.entries()) {
      // A heading is never left alone at the foot of a page.
      const kept = i + 2 < group.length && b.h < 6 && i === 0 ? b.h + group[1]!.h + group[2]!.h : b.h;
      if (y + kept > room && b.items.length > 0) turn();
      put(b);
    }
  pages.push(items);
  return pages;
}
