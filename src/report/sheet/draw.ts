/** A place on the page, millimetres from its upper left corner: across, down. */
export type Pt = readonly [number, number];

export interface Box {
  x: number;
  y: number;
  w: number;
  h: number;
}

/** Grey of ink: 0 black, 1 white. Sheets are printed without colour. */
export interface Stroke {
  gray: number;
  widthMm: number;
  dashMm?: readonly number[];
  round?: boolean;
}

export interface PathItem {
  kind: "path";
  /** Several lines at once; with a fill, rings under the even-odd rule. */
  lines: readonly (readonly Pt[])[];
  closed: boolean;
  fill: number | null;
  stroke: Stroke | null;
}

export interface TextItem {
  kind: "text";
  /** Left end, middle or right end of the base line, by `anchor`. */
  at: Pt;
  text: string;
  sizePt: number;
  bold: boolean;
  anchor: "start" | "middle" | "end";
  gray: number;
  /** White edge round the letters, so that they read over lines. */
  haloMm?: number;
}

export interface ClipItem {
  kind: "clip";
  box: Box;
  items: readonly Item[];
}

export type Item = PathItem | TextItem | ClipItem;

export interface Page {
  title: string;
  widthMm: number;
  heightMm: number;
  items: Item[];
}

/** A spot in words alone, for small screens. */
export interface Card {
  title: string;
  under: string;
  rows: [label: string, value: string][];
  cautions: string[];
}

/** Everything that is printed, free of any file format. */
export interface Sheet {
  title: string;
  /** Date the magnetic values hold for: the document's date, so that the same answer prints the same bytes. */
  date: string;
  pages: Page[];
  cards: Card[];
}

export const MM_PER_PT = 25.4 / 72;
/** Smallest type on a sheet, points. */
export const SMALL_PT = 8;
export const BODY_PT = 8.5;

export const INK = 0;
export const GREY = 0.35;
export const RULE = 0.55;

export const line = (points: readonly Pt[], widthMm = 0.2, more: Partial<Stroke> = {}): PathItem => ({
  kind: "path",
  lines: [points],
  closed: false,
  fill: null,
  stroke: { gray: INK, widthMm, ...more },
});

export const polygon = (rings: readonly (readonly Pt[])[], fill: number | null, stroke: Stroke | null): PathItem => ({
  kind: "path",
  lines: rings,
  closed: true,
  fill,
  stroke,
});

export const rect = (box: Box, fill: number | null, stroke: Stroke | null): PathItem =>
  polygon(
    [
      [
        [box.x, box.y],
        [box.x + box.w, box.y],
        [box.x + box.w, box.y + box.h],
        [box.x, box.y + box.h],
      ],
    ],
    fill,
    stroke,
  );

export const text = (at: Pt, words: string, more: Partial<Omit<TextItem, "kind" | "at" | "text">> = {}): TextItem => ({
  kind: "text",
  at,
  text: words,
  sizePt: SMALL_PT,
  bold: false,
  anchor: "start",
  gray: INK,
  ...more,
});

/** The same drawing, moved. */
export function moved(items: readonly Item[], dx: number, dy: number): Item[] {
  const shift = (p: Pt): Pt => [p[0] + dx, p[1] + dy];
  return items.map((i): Item => {
    if (i.kind === "text") return { ...i, at: shift(i.at) };
    if (i.kind === "path") return { ...i, lines: i.lines.map((l) => l.map(shift)) };
    return { ...i, box: { ...i.box, x: i.box.x + dx, y: i.box.y + dy }, items: moved(i.items, dx, dy) };
  });
}

/** Parallel lines inside a polygon (even-odd), as patterns that print. */
export function hatch(rings: readonly (readonly Pt[])[], spacingMm: number, angleDeg: number): Pt[][] {
  const a = (angleDeg * Math.PI) / 180;
  const [c, s] = [Math.cos(a), Math.sin(a)];
  // Turned so that the lines lie flat: u along them, v across.
  const turned = rings.map((r) => r.map(([x, y]): Pt => [x * c + y * s, y * c - x * s]));
  const vs = turned.flat().map((p) => p[1]);
  if (vs.length === 0) return [];
  const out: Pt[][] = [];
  const low = Math.min(...vs);
  const high = Math.max(...vs);
  for (let v = Math.ceil(low / spacingMm) * spacingMm + spacingMm / 1000; v <= high; v += spacingMm) {
    const cuts: number[] = [];
    for (const ring of turned)
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        const [u1, v1] = ring[j]!;
        const [u2, v2] = ring[i]!;
        if (v1 > v !== v2 > v) cuts.push(u1 + ((v - v1) / (v2 - v1)) * (u2 - u1));
      }
    cuts.sort((p, q) => p - q);
    for (let k = 0; k + 1 < cuts.length; k += 2)
      out.push([
        [cuts[k]! * c - v * s, cuts[k]! * s + v * c],
        [cuts[k + 1]! * c - v * s, cuts[k + 1]! * s + v * c],
      ]);
  }
  return out;
}

/** A square without its upper right corner: everything that is a place is drawn as this slab. */
export const slab = (box: Box, cut: number): Pt[] => [
  [box.x, box.y],
  [box.x + box.w - cut, box.y],
  [box.x + box.w, box.y + cut],
  [box.x + box.w, box.y + box.h],
  [box.x, box.y + box.h],
];
