import { spotCard } from "./cards.ts";
import type { Item, Page, Sheet } from "./draw.ts";
import { type PageSize, spotPages } from "./spot-page.ts";
import type { SheetInput } from "./spot-parts.ts";
import { summaryPages } from "./summary-page.ts";

export type { Meter } from "./block.ts";
export type { Card, Item, Page, Sheet, TextItem } from "./draw.ts";
export type { SheetInput } from "./spot-parts.ts";

const PAPER: Record<SheetInput["paper"], PageSize> = {
  a4: { widthMm: 210, heightMm: 297, margin: 7 },
  letter: { widthMm: 215.9, heightMm: 279.4, margin: 7 },
};

const ROLES = ["primary", "alternate", "contingency", "emergency"];

/** Stands for the sheet number until the last page is set. */
const SHEET = "Sheet #";

/**
 * The site sheet as one draw list in millimetres: a summary and a page for each spot with a role, from plan, ground and
 * answer, in the plan's local frame at true scale, in black and greys.
 * @param input.meter  widths of the face it is set in; may throw for a letter the face lacks
 * The same input gives the same list.
 */
export function siteSheet(input: SheetInput): Sheet {
  const size = PAPER[input.paper];
  const spots = ROLES.flatMap((r) => input.answer.spots.filter((s) => s.role === r));
  const pages: Page[] = [];
  const add = (title: string, lists: Item[][]): void => {
    for (const items of lists) pages.push({ title, widthMm: size.widthMm, heightMm: size.heightMm, items });
  };
  const number = (page: number): string => `${SHEET}${page}`;
  for (const s of spots) add(`Spot ${s.rank}, ${s.name}`, spotPages(input, s, size, number));
  add("Summary", summaryPages(input, size, number));
  // The number of pages is known once all are set.
  for (const [i, page] of pages.entries())
    page.items = page.items.map((item) =>
      item.kind === "text" && item.text.startsWith(SHEET)
        ? { ...item, text: `Sheet ${i + 1} of ${pages.length}` }
        : item,
    );
  return {
    title: `Site sheet: ${input.answer.plan}`,
    date: input.answer.provenance.date,
    pages,
    cards: spots.map((s) => spotCard(input, s)),
  };
}
