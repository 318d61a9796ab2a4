import type { Item, Page, Sheet } from "./draw.ts";
import { type PageSize, type SheetInput, spotPages } from "./spot-page.ts";
import { summaryPages } from "./summary-page.ts";

export type { Meter } from "./block.ts";
export type { Item, Page, Sheet, TextItem } from "./draw.ts";
export type { SheetInput } from "./spot-page.ts";

const PAPER: Record<SheetInput["paper"], PageSize> = {
  a4: { widthMm: 210, heightMm: 297, margin: 8 },
  letter: { widthMm: 215.9, heightMm: 279.4, margin: 8 },
};

const ROLES = ["primary", "alternate", "contingency", "emergency"];

/**
 * The site sheet as one draw list in millimetres: a summary and a page for each spot with a role, from plan, ground and
 * answer, in the plan's local frame at true scale, in black and greys.
 * @param input.meter  widths of the face it is set in; may throw for a letter the face lacks
 * The same input gives the same list.
 */
export function siteSheet(input: SheetInput): Sheet {
  const size = PAPER[input.paper];
  const spots = ROLES.flatMap((r) => input.answer.spots.filter((s) => s.role === r));
  const build = (total: number | null): Page[] => {
    const pages: Page[] = [];
    const number =
      (before: number) =>
      (page: number): string =>
        `Sheet ${before + page} of ${total ?? "?"}`;
    const add = (title: string, lists: Item[][]): void => {
      for (const items of lists) pages.push({ title, widthMm: size.widthMm, heightMm: size.heightMm, items });
    };
    for (const s of spots) add(`Spot ${s.rank}, ${s.name}`, spotPages(input, s, size, number(pages.length)));
    add("Summary", summaryPages(input, size, number(pages.length)));
    return pages;
  };
  // The number of pages is known once they are set; it changes no line break.
  const total = build(null).length;
  return { title: `Site sheet: ${input.answer.plan}`, date: input.answer.provenance.date, pages: build(total) };
}
