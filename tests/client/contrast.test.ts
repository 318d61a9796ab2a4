import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { projectRoot } from "../support/tools.ts";

/** Contrast by WCAG 2.2, "relative luminance" and "contrast ratio" (success criteria 1.4.3 and 1.4.11). */
const css = readFileSync(join(projectRoot, "client", "tokens.css"), "utf8");
function block(selector: string): Record<string, string> {
  const start = css.indexOf(selector);
  let depth = 0;
  let end = start;
  for (let i = css.indexOf("{", start); i < css.length; i++) {
    if (css[i] === "{") depth++;
    if (css[i] === "}" && --depth === 0) {
      end = i;
      break;
    }
  }
  return Object.fromEntries(
    [...css.slice(start, end).matchAll(/(--hs-[\w-]+):\s*(#[0-9A-Fa-f]{6})\b/g)].map((m) => [m[1]!, m[2]!]),
  );
}
const day = block(":root {");
const THEMES: Record<string, Record<string, string>> = {
  day,
  night: { ...day, ...block(':root[data-theme="night"]') },
  sun: { ...day, ...block(':root[data-theme="sun"]') },
};
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const c = Number.parseInt(hex.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
}
const ratio = (a: string, b: string): number => {
  const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p);
  return (x! + 0.05) / (y! + 0.05);
};

test("black on white is 21 : 1, the worked figure of the guidelines", () => {
  expect(ratio("#000000", "#FFFFFF")).toBeCloseTo(21, 6);
});
const TEXT: [string, string][] = [
  ...["ink", "ink2", "ink3", "action", "pass", "caution", "nogo", "unknown"].flatMap((t) =>
    ["surface", "sunk"].map((g): [string, string] => [t, g]),
  ),
  ["ink", "action-tint"],
  ["ink2", "action-tint"],
  ["ink3", "action-tint"],
  ["nogo", "action-tint"],
  ["caution", "action-tint"],
  ["pass", "action-tint"],
  ["nogo", "nogo-tint"],
  ["on-action", "action"],
  ["surface", "ink"],
];
test.each(Object.keys(THEMES))("text reads at 4.5 : 1 or more: %s", (theme) => {
  const t = THEMES[theme]!;
  const poor = TEXT.map(([a, b]) => [a, b, ratio(t[`--hs-${a}`]!, t[`--hs-${b}`]!)] as const).filter(
    ([, , r]) => r < 4.5,
  );
  expect(poor).toEqual([]);
});
test.each(Object.keys(THEMES))("marks and control edges stand out at 3 : 1 or more: %s", (theme) => {
  const t = THEMES[theme]!;
  const pairs: [string, string][] = [
    ["edge", "surface"],
    ["mark", "surface"],
    ["mark", "action-tint"],
    ...["unit", "point", "parking", "hazard", "backhaul"].map((m): [string, string] => [m, "map-land"]),
  ];
  const poor = pairs
    .map(([a, b]) => [a, b, ratio(t[`--hs-${a}`]!, t[`--hs-${b}`]!)] as const)
    .filter(([, , r]) => r < 3);
  expect(poor).toEqual([]);
});
