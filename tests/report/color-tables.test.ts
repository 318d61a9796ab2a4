import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { REJECT_REASONS } from "../../src/plan/outputs/index.ts";
import { COLOR_TABLES, type ColorTable, classOf, legend, PATTERN_COLORS, rgb } from "../../src/report/color-tables.ts";
import { inkAt, PATTERNS, swatch } from "../../src/report/patterns.ts";
import { hasShared, shared } from "../support/tools.ts";

const tables = Object.values(COLOR_TABLES) as ColorTable[];

test.each(tables.map((t) => [t.id, t] as const))("%s: one colour more than edges, edges rise", (_, table) => {
  for (const theme of ["day", "night"] as const) expect(table.colors[theme]).toHaveLength(table.edges.length + 1);
  expect(table.edges).toEqual([...table.edges].sort((a, b) => a - b));
  expect(new Set(table.edges).size).toBe(table.edges.length);
});

test("a value at an edge belongs to the class above, NaN to none", () => {
  const { edges } = COLOR_TABLES.score;
  expect([-5, 0, 74.999, 75, 79, 80, 94.9, 95, 100, 1e9].map((v) => classOf({ edges }, v))).toEqual([
    0, 0, 0, 1, 1, 2, 4, 5, 5, 5,
  ]);
  expect(classOf({ edges }, Number.NaN)).toBe(-1);
});

/** Relative luminance: WCAG 2.2, "relative luminance". */
function luminance(color: string): number {
  const [r, g, b] = rgb(color).map((v) =>
    v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4,
  ) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

test("lightness runs one way within every sequence, so that classes part without colour", () => {
  for (const table of tables.filter((t) => t.id !== "margin"))
    for (const theme of ["day", "night"] as const) {
      const steps = table.colors[theme].map(luminance);
      const rising = steps[0]! < steps.at(-1)!;
      for (let k = 1; k < steps.length; k++)
        expect(steps[k]! > steps[k - 1]!, `${table.id} ${theme} ${k}`).toBe(rising);
    }
});

test("pattern ink stands out from its paper (WCAG 2.2, 1.4.11: at least 3 : 1)", () => {
  for (const p of Object.values(PATTERN_COLORS))
    for (const [ink, paper] of [
      [p.ink, p.paper],
      [p.unknownInk, p.unknownPaper],
    ] as const) {
      const [a, b] = [luminance(ink), luminance(paper)].sort((x, y) => y - x) as [number, number];
      expect((a + 0.05) / (b + 0.05)).toBeGreaterThanOrEqual(3);
    }
});

test("colours are those of the design's tokens, day and night", () => {
  if (!hasShared()) return;
  const css = readFileSync(shared("ux", "tokens.css"), "utf8");
  const night = css.slice(css.indexOf('[data-theme="night"]'), css.indexOf('[data-theme="sun"]'));
  const day = css.slice(0, css.indexOf('[data-theme="night"]'));
  const value = (block: string, name: string) => new RegExp(`--hs-${name}: (#[0-9A-F]{6});`).exec(block)![1];
  const six = (block: string, name: string) => [1, 2, 3, 4, 5, 6].map((k) => value(block, `${name}-${k}`));
  const margins = ["m4", "m3", "m2", "m1", "0", "p1", "p2", "p3", "p4"];
  for (const [theme, block] of [
    ["day", day],
    ["night", night],
  ] as const) {
    expect(COLOR_TABLES.score.colors[theme]).toEqual(six(block, "prob"));
    expect(COLOR_TABLES.probability.colors[theme]).toEqual(six(block, "prob"));
    expect(COLOR_TABLES.loss.colors[theme]).toEqual(six(block, "loss"));
    expect(COLOR_TABLES.clearance.colors[theme]).toEqual(six(block, "clear"));
    expect(COLOR_TABLES.margin.colors[theme]).toEqual(margins.map((m) => value(block, `margin-${m}`)));
    expect(PATTERN_COLORS[theme]).toEqual({
      ink: value(block, "ink"),
      paper: value(block, "surface"),
      unknownInk: value(block, "unknown"),
      unknownPaper: value(block, "unknown-tint"),
    });
  }
});

test("every reason has a pattern of its own shape: no two agree under any shift", () => {
  const names = [...REJECT_REASONS, "unknown", "short"] as const;
  const sheet = (name: (typeof names)[number], dx: number, dy: number) => {
    let bits = "";
    for (let y = 0; y < 24; y++) for (let x = 0; x < 24; x++) bits += inkAt(PATTERNS[name], x + dx, y + dy) ? "1" : "0";
    return bits;
  };
  for (const a of names)
    for (const b of names) {
      if (a >= b) continue;
      const still = sheet(a, 0, 0);
      for (let dy = 0; dy < PATTERNS[b].height; dy++)
        for (let dx = 0; dx < PATTERNS[b].width; dx++) expect(sheet(b, dx, dy) === still, `${a} ${b}`).toBe(false);
    }
  for (const name of names) {
    const ink = PATTERNS[name].bits.reduce((sum, bit) => sum + bit, 0) / PATTERNS[name].bits.length;
    expect(ink, name).toBeGreaterThan(0.05);
    expect(ink, name).toBeLessThan(0.45);
  }
});

test("a pattern goes on over negative and large pixel numbers", () => {
  const p = PATTERNS["power-line"];
  for (const [x, y] of [
    [0, 0],
    [3, 5],
    [7, 1],
  ] as const) {
    expect(inkAt(p, x - 80, y - 160)).toBe(inkAt(p, x, y));
    expect(inkAt(p, x + 2 ** 30, y + 2 ** 30)).toBe(inkAt(p, x, y));
  }
});

test("the legend's swatch is the pattern itself, pixel by pixel", () => {
  const p = PATTERNS.slope;
  const svg = swatch(p, "#000000", "#FFFFFF", 16, 16);
  // Rows 3 and 11 in full: horizontal lines every eight pixels.
  expect(svg).toContain('d="M0 3h16v1h-16zM0 11h16v1h-16z"');
  expect(svg).not.toMatch(/style|script|id=/);
});

test("a legend names every class in order and only the reasons that occur", () => {
  const l = legend(COLOR_TABLES.score, "day", ["slope", "unknown"]);
  expect(l.classes.map((c) => c.label)).toEqual([
    "under 75",
    "75 to 80",
    "80 to 85",
    "85 to 90",
    "90 to 95",
    "95 and more",
  ]);
  expect(l.classes[0]).toMatchObject({ from: null, to: 75 });
  expect(l.classes[5]).toMatchObject({ from: 95, to: null });
  expect(l.patterns.map((p) => p.reason)).toEqual(["slope", "unknown"]);
  // The lowest chance is not painted in a coverage, so it is not in its legend either.
  expect(legend(COLOR_TABLES.probability, "day", []).classes[0]).toMatchObject({ from: 20, to: 50 });
  expect(legend(COLOR_TABLES.level, "day", []).classes[0]!.label).toBe("under −115");
});
