import type { Spot } from "../../plan/outputs/types.ts";
import { BLANK_H, type Block, gap, heading, paragraph, stack } from "./block.ts";
import { type Item, moved } from "./draw.ts";
import { dayText, num, sentenceCase } from "./format.ts";
import { fuelBlock, fuelLine } from "./power.ts";
import {
  alsoLooked,
  arrival,
  asBuilt,
  backhaulBlock,
  cautionBox,
  checksTable,
  dataWords,
  namesOf,
  nextSpot,
  nextWords,
  northsAt,
  pageHead,
  pointsTable,
  type SheetInput,
  stabilityWords,
  where,
  withNames,
} from "./spot-parts.ts";
import { topRow } from "./top-row.ts";

export interface PageSize {
  widthMm: number;
  heightMm: number;
  margin: number;
}

const MOST_ROW_MM = 96;
const TIGHT_BLANK_MM = 6.8;
const COLUMN_GAP_MM = 4;

/** What stands under the map and at the foot, in one of two settings. */
interface Setting {
  left: Block[];
  right: Block[];
  /** Across both columns. */
  across: Block[];
  tail: Block[];
}

const height = (blocks: readonly Block[]): number => blocks.reduce((sum, b) => sum + b.h, 0);

/** Takes blocks off the front of a column as far as they fit; a heading never stays behind without its first rows. */
function take(column: Block[], room: number): Block[] {
  let y = 0;
  let n = 0;
  while (n < column.length && y + column[n]!.h <= room + 1e-6) y += column[n++]!.h;
  if (n < column.length) while (n > 0 && isHeading(column[n - 1]!, column[n]!)) n--;
  return column.splice(0, n);
}

/** Headings and table heads hold bold text alone. */
const isHeading = (b: Block, next: Block): boolean =>
  next.items.length > 0 && b.items.some((i) => i.kind === "text") && b.items.every((i) => i.kind !== "text" || i.bold);

/** Items of one spot's pages; a second page only where one cannot hold everything. */
export function spotPages(input: SheetInput, spot: Spot, size: PageSize, number: (page: number) => string): Item[][] {
  const { loaded, answer, meter } = input;
  const w = size.widthMm - 2 * size.margin;
  const room = size.heightMm - 2 * size.margin;
  const names = namesOf(loaded);
  const { norths, model } = northsAt(spot, answer);
  const next = nextSpot(spot, answer);
  const sky = input.sky?.get(spot.id) ?? null;

  const under = [
    loaded.plan.name,
    `${sentenceCase(spot.role)}, score ${num(spot.score, 1)}`,
    next ? nextWords(spot, next, norths) : "",
  ]
    .filter((s) => s !== "")
    .join(". ");
  const title = `Site sheet: spot ${spot.rank}, ${spot.name}`;
  const right = (page: number): string[] => [number(page), `For ${dayText(answer.provenance.date)}`];
  const head = pageHead(w, title, under, right(1), meter);
  const place = where(spot, norths, w);
  // How often it comes first is said once, with the share.
  const reasons = spot.reasons.filter((r) => spot.stabilityPct === null || !/^First in \d+ of \d+ draws/.test(r));
  const why = paragraph(
    [{ text: "Why here. ", bold: true }, { text: `${withNames(reasons.join(" "), loaded)} ` }, ...stabilityWords(spot)],
    w,
    meter,
    { sizePt: 8 },
  );
  const leftW = Math.round(w * 0.4);
  const rightW = w - leftW - COLUMN_GAP_MM;
  const checks = checksTable(spot, names, leftW, meter);
  const points = pointsTable(spot, rightW, meter);
  const hands = arrival(spot, answer, loaded, w, meter);
  const wide: Setting = {
    left: [...checks, gap(2), backhaulBlock(spot, loaded, leftW, meter), gap(2), fuelBlock(loaded, leftW, meter)],
    right: [...points, gap(2), alsoLooked(spot, answer, rightW, meter)],
    across: [],
    tail: [hands, gap(1.6), asBuilt(spot, loaded, w, BLANK_H, meter)],
  };
  // Tighter: other spots are on the summary, fuel is a line across.
  const tight: Setting = {
    left: [...checks, gap(2), backhaulBlock(spot, loaded, leftW, meter)],
    right: points,
    across: [gap(1.5), fuelLine(loaded, w, meter)],
    tail: [hands, gap(1), asBuilt(spot, loaded, w, TIGHT_BLANK_MM, meter)],
  };
  const caution = cautionBox(spot, answer, loaded, w, meter);
  const foot = paragraph(dataWords(input), w, meter, { sizePt: 8 });
  const top = topRow(input, spot, sky, names, norths, model, w);
  const above = head.h + place.h + 1 + why.h + 1.8;
  const below = caution.h + 2 + foot.h + 1.2;
  const forRow = (s: Setting): number =>
    room - above - below - Math.max(height(s.left), height(s.right)) - height(s.across) - height(s.tail) - 6;
  const fitting = [wide, tight].find((s) => forRow(s) >= top.leastMm);
  const set = fitting ?? wide;
  const rowH = Math.min(
    MOST_ROW_MM,
    Math.max(top.leastMm, fitting ? forRow(fitting) : forRow(wide) + height(wide.tail)),
  );

  const pages: Item[][] = [];
  let items: Item[] = [];
  let y = 0;
  const put = (b: Block, x = 0): void => void items.push(...moved(b.items, size.margin + x, size.margin + y));
  const down = (b: Block, after = 0): void => {
    put(b);
    y += b.h + after;
  };
  const columns = (end: number): void => {
    const from = y;
    const ends = [set.left, set.right].map((column, i) => {
      y = from;
      for (const b of take(column, end - from)) {
        put(b, i === 0 ? 0 : leftW + COLUMN_GAP_MM);
        y += b.h;
      }
      return y;
    });
    y = Math.max(...ends);
  };
  const turn = (): void => {
    pages.push(items);
    items = [];
    y = 0;
    down(pageHead(w, `${title}, continued`, loaded.plan.name, right(pages.length + 1), meter), 2);
  };

  down(head);
  down(place, 1);
  down(why, 1.8);
  items.push(...moved(top.draw(rowH), size.margin, size.margin + y));
  y += rowH + 2;
  columns(room - below - height(set.across) - (fitting ? height(set.tail) + 2 : 0));
  for (const b of set.across) down(b);
  y += 2;
  down(caution, 2);
  if (fitting) for (const b of set.tail) down(b);
  y = room - foot.h;
  down(foot);
  while (set.left.length > 0 || set.right.length > 0) {
    turn();
    const waiting = set.left.length + set.right.length;
    const carried = (column: Block[], table: Block[], name: string, width: number): void => {
      if (column.length > 0 && table.includes(column[0]!) && column[0] !== table[0])
        column.unshift(stack([heading(name, width, meter), table[1]!]));
    };
    carried(set.left, checks, "Stand and sky, continued", leftW);
    carried(set.right, points, "Points, continued", rightW);
    columns(room);
    // A block taller than a page is set all the same: cut at the foot is better than never ending.
    if (set.left.length + set.right.length >= waiting) {
      set.left.shift();
      set.right.shift();
    }
    y += 3;
  }
  if (!fitting) {
    if (pages.length === 0 || y + height(set.tail) > room) turn();
    for (const b of set.tail) down(b);
  }
  pages.push(items);
  return pages;
}
