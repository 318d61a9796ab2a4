import type { CoverWhat, LegendAnswer, Theme } from "../plan/http.ts";
import type { REJECT_REASONS } from "../plan/outputs/index.ts";
import { PATTERNS, swatch } from "./patterns.ts";

/**
 * Classes and colours of every quantity that is painted: the one table for map tiles, legend and print. Classed, not
 * smooth. Each quantity has a hue family of its own; lightness runs one way within it, so that it reads without colour.
 */
export interface ColorTable {
  id: string;
  title: string;
  unit: string;
  /** Lower edges of the second class and those above; a value equal to an edge belongs above it. Rising. */
  edges: readonly number[];
  /** One colour more than edges, lowest value first. */
  colors: Readonly<Record<Theme, readonly string[]>>;
  /** Words instead of numbers, where the classes are not ranges. */
  labels?: readonly string[];
  /** Classes below this one are left unpainted. */
  paintedFrom: number;
  /** Arrays hold the quantity divided by this (probabilities are shares of 1, shown in per cent); 1 when left out. */
  valueScale?: number;
  /** Classes below this edge are hatched as falling short as well. */
  hatchedBelow: number | null;
}

const CHANCE = ["#FBF6DB", "#DFE4A3", "#89C88D", "#27A7A9", "#2377A9", "#2A477F"];
const LOSS = ["#FCEEDB", "#F7C5A1", "#EA9374", "#C2616B", "#853961", "#451F48"];
const CLEAR = ["#F0F3DC", "#CFD79F", "#A5B667", "#768E43", "#45622E", "#1A3821"];
const MARGIN_DAY = ["#662703", "#9A4914", "#C97F51", "#E8BE9D", "#F1F0EC", "#A2CEE9", "#559CCB", "#1E67A1", "#153D6D"];
const MARGIN_NIGHT = [
  "#F2CCAC",
  "#E19E71",
  "#BF6E3E",
  "#874A29",
  "#313639",
  "#345F8A",
  "#478CC4",
  "#73B8E5",
  "#ACDCF5",
];

/** Over dark ground high values are the light ones. */
const bothWays = (day: readonly string[]) => ({ day, night: [...day].reverse() });

export const COLOR_TABLES = {
  score: {
    id: "score",
    title: "Score of each cell",
    unit: "of 100",
    edges: [75, 80, 85, 90, 95],
    colors: bothWays(CHANCE),
    paintedFrom: 0,
    hatchedBelow: null,
  },
  probability: {
    id: "probability",
    title: "Chance of service",
    unit: "%",
    valueScale: 100,
    edges: [20, 50, 80, 90, 95],
    colors: bothWays(CHANCE),
    paintedFrom: 1,
    hatchedBelow: null,
  },
  loss: {
    id: "loss",
    title: "Path loss",
    unit: "dB",
    edges: [90, 100, 110, 120, 130],
    colors: bothWays(LOSS),
    paintedFrom: 0,
    hatchedBelow: null,
  },
  // The same hue family as loss, the other way round: a weak level is much loss. Edges: common practice, no source.
  level: {
    id: "level",
    title: "Level at the terminal",
    unit: "dBm",
    edges: [-115, -105, -95, -85, -75],
    colors: { day: [...LOSS].reverse(), night: LOSS },
    paintedFrom: 0,
    hatchedBelow: null,
  },
  visible: {
    id: "visible",
    title: "In sight of the antenna",
    unit: "",
    edges: [0.5],
    colors: { day: [CHANCE[0]!, CHANCE[4]!], night: [CHANCE[5]!, CHANCE[1]!] },
    labels: ["out of sight", "in sight"],
    paintedFrom: 1,
    hatchedBelow: null,
  },
  clearance: {
    id: "clearance",
    title: "Room round the view to the satellite",
    unit: "°",
    edges: [0, 5, 10, 15, 20],
    colors: bothWays(CLEAR),
    paintedFrom: 0,
    hatchedBelow: 0,
  },
  margin: {
    id: "margin",
    title: "Margin",
    unit: "dB",
    edges: [-15, -10, -6, -2, 2, 6, 10, 15],
    colors: { day: MARGIN_DAY, night: MARGIN_NIGHT },
    paintedFrom: 0,
    hatchedBelow: -2,
  },
} as const satisfies Record<string, ColorTable>;

export type TableId = keyof typeof COLOR_TABLES;

/** Ink and paper of patterns. Unknown ground has a paper of its own beside its own shape. */
export const PATTERN_COLORS: Readonly<
  Record<Theme, { ink: string; paper: string; unknownInk: string; unknownPaper: string }>
> = {
  day: { ink: "#14212A", paper: "#FCFDFB", unknownInk: "#525E66", unknownPaper: "#E8ECEC" },
  night: { ink: "#E9EEEA", paper: "#131C22", unknownInk: "#AEBABE", unknownPaper: "#233038" },
};

export const REASON_WORDS: Readonly<Record<(typeof REJECT_REASONS)[number] | "unknown", string>> = {
  footprint: "The unit does not fit",
  slope: "Too steep",
  "keep-out": "Keep-out",
  water: "Water or soft ground",
  obstacle: "Near an object",
  "power-line": "Power line too close",
  crowd: "Too near people",
  opening: "Too near a door or intake",
  sky: "No clear dish view",
  unknown: "Not known: data are missing",
};

/** Class of a value, 0 the lowest; −1 for NaN. */
export function classOf(table: Pick<ColorTable, "edges">, value: number): number {
  if (Number.isNaN(value)) return -1;
  let k = 0;
  while (k < table.edges.length && value >= table.edges[k]!) k++;
  return k;
}

/** Numbers as people read them: a true minus sign. */
const figure = (value: number): string => String(value).replace("-", "−");

function labelOf(table: ColorTable, k: number): string {
  if (table.labels !== undefined) return table.labels[k]!;
  const from = table.edges[k - 1];
  const to = table.edges[k];
  if (from === undefined) return `under ${figure(to!)}`;
  if (to === undefined) return `${figure(from)} and more`;
  return `${figure(from)} to ${figure(to)}`;
}

/** Legend of a painted quantity. Patterns are listed for those reasons that occur. */
export function legend(
  table: ColorTable,
  theme: Theme,
  reasons: readonly LegendAnswer["patterns"][number]["reason"][],
): LegendAnswer {
  const classes = table.colors[theme]
    .map((color, k) => ({
      from: k === 0 ? null : table.edges[k - 1]!,
      to: table.edges[k] ?? null,
      color,
      label: labelOf(table, k),
    }))
    .slice(table.paintedFrom);
  const { ink, paper, unknownInk, unknownPaper } = PATTERN_COLORS[theme];
  const patterns = reasons.map((reason) => ({
    reason,
    label: REASON_WORDS[reason],
    svg:
      reason === "unknown" ? swatch(PATTERNS.unknown, unknownInk, unknownPaper) : swatch(PATTERNS[reason], ink, paper),
  }));
  return { title: table.title, unit: table.unit, classes, patterns };
}

/** The table that paints what a coverage run has computed. */
export const tableOfCover = (what: CoverWhat): ColorTable => COLOR_TABLES[what];

/** Red, green, blue of "#RRGGBB". */
export function rgb(color: string): [number, number, number] {
  const n = Number.parseInt(color.slice(1), 16);
  return [(n >> 16) & 255, (n >> 8) & 255, n & 255];
}
