import { BODY_PT, GREY, type Item, line, MM_PER_PT, moved, type Pt, RULE, SMALL_PT, text } from "./draw.ts";

/** Width of a text, millimetres, in the face the sheet is set in. */
export type Meter = (words: string, sizePt: number, bold: boolean) => number;

export interface Run {
  text: string;
  bold?: boolean;
}

/** A piece of a page of known size, drawn with its upper left corner at 0, 0. */
export interface Block {
  w: number;
  h: number;
  items: Item[];
}

export const at = (block: Block, x: number, y: number): Item[] => moved(block.items, x, y);
export const gap = (h: number): Block => ({ w: 0, h, items: [] });

interface SetLine {
  parts: { text: string; bold: boolean; x: number }[];
}

/** A text cut to a width, with dots where something is left out. */
export function fitText(words: string, widthMm: number, sizePt: number, bold: boolean, meter: Meter): string {
  if (meter(words, sizePt, bold) <= widthMm) return words;
  let n = words.length;
  while (n > 1 && meter(`${words.slice(0, n).trimEnd()}…`, sizePt, bold) > widthMm) n--;
  return `${words.slice(0, n).trimEnd()}…`;
}

/** A number stays with its unit, and a count with what it is counted out of. */
const held = (words: string): string =>
  words.replace(/(\d) (?=(?:%|m|km|ha|dB|kV|h|L|mph|MHz|min|ft)(?![A-Za-z]))/g, "$1\u00a0");

/** Breaks runs into lines; words longer than a line (hashes, file names) are cut. */
export function wrap(runs: readonly Run[], widthMm: number, sizePt: number, meter: Meter): SetLine[] {
  const lines: SetLine[] = [{ parts: [] }];
  let x = 0;
  const put = (word: string, bold: boolean, spaced: boolean): void => {
    const w = meter(word, sizePt, bold);
    const lead = spaced && x > 0 ? meter(" ", sizePt, bold) : 0;
    if (x + lead + w > widthMm + 1e-6 && x > 0) {
      lines.push({ parts: [] });
      x = 0;
      put(word, bold, false);
      return;
    }
    if (w > widthMm + 1e-6 && word.length > 1) {
      let cut = word.length - 1;
      while (cut > 1 && meter(word.slice(0, cut), sizePt, bold) > widthMm) cut--;
      put(word.slice(0, cut), bold, false);
      put(word.slice(cut), bold, false);
      return;
    }
    const parts = lines.at(-1)!.parts;
    const last = parts.at(-1);
    if (last && last.bold === bold) last.text += (lead > 0 ? " " : "") + word;
    else parts.push({ text: word, bold, x: x + lead });
    x += lead + w;
  };
  let glued = false;
  for (const run of runs) {
    const words = held(run.text).split(" ");
    for (const [i, word] of words.entries()) {
      if (word === "") continue;
      const spaced = i > 0 || !glued;
      put(word, run.bold ?? false, spaced);
    }
    glued = run.text !== "" && !run.text.endsWith(" ");
  }
  return lines;
}

export interface Setting {
  sizePt?: number;
  leading?: number;
  gray?: number;
}

/** Running text. A run that does not end with a blank is set tight against the next. */
export function paragraph(runs: string | readonly Run[], w: number, meter: Meter, how: Setting = {}): Block {
  const { sizePt = BODY_PT, leading = 1.26, gray = 0 } = how;
  const step = sizePt * leading * MM_PER_PT;
  const lines = wrap(typeof runs === "string" ? [{ text: runs }] : runs, w, sizePt, meter);
  const items: Item[] = [];
  for (const [i, l] of lines.entries())
    for (const p of l.parts)
      items.push(text([p.x, step * i + sizePt * 0.86 * MM_PER_PT], p.text, { sizePt, bold: p.bold, gray }));
  return { w, h: lines.length * step, items };
}

/** A part's name over a rule, with a remark in plain weight behind it. */
export function heading(title: string, w: number, meter: Meter, remark = ""): Block {
  const sizePt = 10;
  const name = fitText(title, w, sizePt, true, meter);
  const items: Item[] = [text([0, 3.3], name, { sizePt, bold: true }), line([[0, 4.5] as Pt, [w, 4.5]], 0.25)];
  const left = meter(name, sizePt, true) + 1.6;
  if (remark && left < w - 10)
    items.push(text([left, 3.3], fitText(remark, w - left, SMALL_PT, false, meter), { sizePt: SMALL_PT }));
  return { w, h: 5.2, items };
}

export interface Column {
  title: string;
  w: number;
  align?: "start" | "end";
  bold?: boolean;
}
export type Cell = string | { text: string; bold?: boolean } | { mark: MarkKind } | Block;
export type MarkKind = "pass" | "short" | "caution" | "fail" | "unknown" | "box";

const ROW_LEADING = 1.16;
const ROW_PAD = 0.36;

/** A small sign, told apart by its shape, with its upper left corner at x, y; side in millimetres. */
export function mark(kind: MarkKind, x: number, y: number, side = 2.4): Item[] {
  const p = (u: number, v: number): Pt => [x + u * side, y + v * side];
  switch (kind) {
    case "pass":
      return [line([p(0.05, 0.55), p(0.35, 0.88), p(0.95, 0.12)], side * 0.14)];
    case "short":
      return [line([p(0.12, 0.92), p(0.88, 0.08)], side * 0.14)];
    case "caution":
      return [
        {
          kind: "path",
          lines: [[p(0.5, 0.02), p(1, 0.96), p(0, 0.96)]],
          closed: true,
          fill: null,
          stroke: { gray: 0, widthMm: side * 0.1 },
        },
        line([p(0.5, 0.36), p(0.5, 0.66)], side * 0.12),
        line([p(0.5, 0.75), p(0.5, 0.86)], side * 0.12),
      ];
    case "fail":
      return [
        {
          kind: "path",
          lines: [[p(0, 0), p(0.78, 0), p(1, 0.22), p(1, 1), p(0, 1)]],
          closed: true,
          fill: 0,
          stroke: null,
        },
        line([p(0.2, 0.55), p(0.8, 0.55)], side * 0.18, { gray: 1 }),
      ];
    case "unknown":
      return [
        {
          kind: "path",
          lines: [[p(0.04, 0.04), p(0.96, 0.04), p(0.96, 0.96), p(0.04, 0.96)]],
          closed: true,
          fill: null,
          stroke: { gray: 0, widthMm: side * 0.09, dashMm: [side * 0.2, side * 0.14] },
        },
        line([p(0.34, 0.36), p(0.4, 0.24), p(0.6, 0.24), p(0.66, 0.38), p(0.5, 0.52), p(0.5, 0.62)], side * 0.1),
        line([p(0.5, 0.72), p(0.5, 0.82)], side * 0.12),
      ];
    case "box":
      return [
        {
          kind: "path",
          lines: [[p(0, 0), p(1, 0), p(1, 1), p(0, 1)]],
          closed: true,
          fill: null,
          stroke: { gray: 0, widthMm: 0.25 },
        },
      ];
  }
}

/** A table as blocks, one a row and the first its head, so that it may be broken between rows. */
export function table(columns: readonly Column[], rows: readonly (readonly Cell[])[], meter: Meter): Block[] {
  const w = columns.reduce((sum, c) => sum + c.w, 0);
  const step = SMALL_PT * ROW_LEADING * MM_PER_PT;
  const row = (cells: readonly Cell[], head: boolean): Block => {
    const items: Item[] = [];
    let x = 0;
    let h = step;
    for (const [i, c] of columns.entries()) {
      const cell = cells[i] ?? "";
      const inner = c.w - 1.4;
      if (typeof cell === "object" && "mark" in cell) items.push(...mark(cell.mark, x, ROW_PAD + 0.35));
      else if (typeof cell === "object" && "items" in cell) {
        items.push(...moved(cell.items, x, ROW_PAD));
        h = Math.max(h, cell.h);
      } else {
        const words = typeof cell === "string" ? cell : cell.text;
        const bold = head || (typeof cell === "object" ? (cell.bold ?? false) : (c.bold ?? false));
        const lines = wrap([{ text: words, bold }], inner, SMALL_PT, meter);
        h = Math.max(h, lines.length * step);
        for (const [k, l] of lines.entries()) {
          const part = l.parts[0];
          if (!part) continue;
          const y = ROW_PAD + k * step + SMALL_PT * 0.86 * MM_PER_PT;
          items.push(
            c.align === "end"
              ? text([x + c.w - 1.4, y], part.text, { bold, anchor: "end" })
              : text([x, y], part.text, { bold }),
          );
        }
      }
      x += c.w;
    }
    const height = h + 2 * ROW_PAD;
    items.push(
      line(
        [
          [0, height],
          [w, height],
        ],
        head ? 0.25 : 0.1,
        { gray: head ? 0 : RULE },
      ),
    );
    return { w, h: height, items };
  };
  return [
    row(
      columns.map((c) => c.title),
      true,
    ),
    ...rows.map((r) => row(r, false)),
  ];
}

/** Blocks one under the other. */
export function stack(blocks: readonly Block[]): Block {
  const items: Item[] = [];
  let y = 0;
  let w = 0;
  for (const b of blocks) {
    items.push(...moved(b.items, 0, y));
    y += b.h;
    w = Math.max(w, b.w);
  }
  return { w, h: y, items };
}

/** Room for a hand-written word under its label, mm. */
export const BLANK_H = 7.8;

/** A line to write on, with what belongs there above it. */
export function blank(label: string, w: number, meter: Meter, h = BLANK_H): Block {
  return {
    w,
    h,
    items: [
      text([0, 2.7], fitText(label, w - 2, SMALL_PT, false, meter), { gray: GREY }),
      line(
        [
          [0, h - 0.8],
          [w - 3, h - 0.8],
        ],
        0.2,
      ),
    ],
  };
}
