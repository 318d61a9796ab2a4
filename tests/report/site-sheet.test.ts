import { beforeAll, describe, expect, test } from "vitest";
import { textWidthMm } from "../../server/export/font/face.ts";
import { fromUtm, geodesicInverse, toUsng, toUtm } from "../../src/geodesy/index.ts";
import type { RankAnswer } from "../../src/plan/outputs/types.ts";
import { hatch, type Item, type Page, type Pt } from "../../src/report/sheet/draw.ts";
import { bearing, chance, checkNumbers, degreesMinutes } from "../../src/report/sheet/format.ts";
import { groundItems } from "../../src/report/sheet/ground.ts";
import { type SheetInput, siteSheet } from "../../src/report/sheet/index.ts";
import { fitFrame, usngGrid } from "../../src/report/sheet/map-frame.ts";
import { nearestCell } from "../../src/terrain/scene.ts";
import { type SheetCase, sheetCase } from "../support/sheet-fixture.ts";

let c: SheetCase;
beforeAll(async () => {
  c = await sheetCase();
});
const make = (more: Partial<SheetInput> = {}) => siteSheet({ ...c, paper: "a4", meter: textWidthMm, ...more });

const MM_PER_PT = 25.4 / 72;
interface Placed {
  text: string;
  x: number;
  y: number;
  w: number;
  h: number;
}

/** Boxes of a page's own words; words of maps and charts keep apart by their own rule and are cut by their frame. */
function wordsOf(page: Page): Placed[] {
  return page.items.flatMap((i) => {
    if (i.kind !== "text" || i.text.trim() === "") return [];
    const w = textWidthMm(i.text, i.sizePt, i.bold);
    const h = i.sizePt * MM_PER_PT;
    const x = i.at[0] - (i.anchor === "end" ? w : i.anchor === "middle" ? w / 2 : 0);
    return [{ text: i.text, x, y: i.at[1] - h * 0.72, w, h: h * 0.72 }];
  });
}

/** Many points, long names, many hazards: what a large plan does to a page. */
function crowded(): RankAnswer {
  const answer = structuredClone(c.answer);
  for (const s of answer.spots) {
    const [p] = s.points;
    s.points = Array.from({ length: 70 }, (_, i) => ({
      ...p!,
      id: `p${i}`,
      code: i % 3 ? `P${i}` : "",
      name: i % 5 ? `Point ${i}` : `A rather long name of a point, number ${i}`,
    }));
    const line = s.checks.find((k) => k.id.startsWith("power-line"))!;
    s.checks = [
      ...s.checks,
      ...Array.from({ length: 24 }, (_, i) => ({ ...line, id: `power-line:extra-line-number-${i}` })),
    ];
    s.reasons = [
      ...s.reasons,
      ...Array.from({ length: 8 }, (_, i) => `Loses something with a long story, number ${i}, in the way: a wall.`),
    ];
  }
  return answer;
}

describe("layout", () => {
  const cases: [string, () => Partial<SheetInput>][] = [
    ["A4", () => ({})],
    ["Letter", () => ({ paper: "letter" })],
    ["A4, crowded", () => ({ answer: crowded() })],
    ["Letter, crowded", () => ({ answer: crowded(), paper: "letter" })],
    ["without sky", () => ({ sky: new Map() })],
  ];
  test.each(cases)("%s: words lie inside the paper, none over another, none under 8 points", (_, more) => {
    const sheet = make(more());
    const smallest = (items: readonly Item[]): number =>
      Math.min(99, ...items.map((i) => (i.kind === "text" ? i.sizePt : i.kind === "clip" ? smallest(i.items) : 99)));
    for (const page of sheet.pages) {
      expect(smallest(page.items)).toBeGreaterThanOrEqual(8);
      const words = wordsOf(page);
      for (const w of words) {
        expect(w.x, w.text).toBeGreaterThan(5);
        expect(w.y, w.text).toBeGreaterThan(5);
        expect(w.x + w.w, w.text).toBeLessThan(page.widthMm - 5);
        expect(w.y + w.h, w.text).toBeLessThan(page.heightMm - 5);
      }
      for (let i = 0; i < words.length; i++)
        for (let j = i + 1; j < words.length; j++) {
          const [a, b] = [words[i]!, words[j]!];
          const wide = Math.min(a.x + a.w, b.x + b.w) - Math.max(a.x, b.x);
          const high = Math.min(a.y + a.h, b.y + b.h) - Math.max(a.y, b.y);
          expect(wide > 0.15 && high > 0.15, `${page.title}: "${a.text}" over "${b.text}"`).toBe(false);
        }
    }
  });

  test("a small plan takes a page a spot; a crowded one loses no row", () => {
    const roles = c.answer.spots.filter((s) => s.role !== "none").length;
    expect(make().pages.filter((p) => p.title !== "Summary")).toHaveLength(roles);
    const sheet = make({ answer: crowded() });
    const first = sheet.pages[0]!.title;
    const words = sheet.pages.filter((p) => p.title === first).flatMap((p) => wordsOf(p).map((w) => w.text));
    for (let i = 0; i < 70; i++)
      if (i % 5 !== 0)
        expect(
          words.some((w) => w.endsWith(`Point ${i}`)),
          `point ${i}`,
        ).toBe(true);
    for (let i = 0; i < 24; i++)
      expect(words.filter((w) => w.includes(`number-${i}`)).length, `check ${i}`).toBeGreaterThan(0);
    expect(words).toContain("Set up by");
    expect(words.some((w) => w.startsWith("Sheet 1 of "))).toBe(true);
  });

  test("no spot with a role still gives a summary with the nearest misses", () => {
    const answer = structuredClone(c.answer);
    answer.spots = [];
    answer.feasibleCount = 0;
    answer.nearestMisses = [
      { lng: -98.5, lat: 41.6, usng: "14T NM 41666 05481", score: 71.26, text: "Gate is short by 3.2 dB.", fixes: [] },
    ];
    const sheet = make({ answer });
    expect(sheet.pages.every((p) => p.title === "Summary")).toBe(true);
    const words = wordsOf(sheet.pages[0]!)
      .map((w) => w.text)
      .join(" ");
    expect(words).toContain("No spot serves every must.");
    expect(words).toContain("Nearest miss 14T NM 41666 05481, score 71.3:");
    expect(words).toContain("Gate is short by 3.2");
  });
});

describe("the map", () => {
  const box = { x: 10, y: 20, w: 90, h: 70 };
  const frameOf = () => {
    const { frame } = c.scene;
    const corners = [
      { xM: -400, yM: -300 },
      { xM: 500, yM: 350 },
    ];
    return { frame, corners, map: fitFrame(box, corners, 5) };
  };

  test("ground without data is hatched and told: beyond the grid and in voids, never left white", () => {
    const { frame } = c.scene;
    const map = fitFrame(
      box,
      [
        { xM: -100, yM: -100 },
        { xM: 100, yM: 100 },
      ],
      5,
    );
    expect(groundItems(c.scene, map).unknown).toBe(false);
    const wide = fitFrame(
      box,
      [
        { xM: -2000, yM: -300 },
        { xM: 500, yM: 350 },
      ],
      5,
    );
    const past = groundItems(c.scene, wide);
    expect(past.unknown).toBe(true);
    const lines = past.items.filter((i) => i.kind === "path" && i.stroke?.widthMm === 0.12);
    expect(lines.length).toBeGreaterThan(20);
    const holed = { ...c.scene, groundM: c.scene.groundM.slice() };
    const at = nearestCell(holed.grid, frame.toXY({ lng: -98.5, lat: 41.6 }))!;
    for (let r = -8; r <= 8; r++)
      for (let k = -8; k <= 8; k++) holed.groundM[at.index + r * holed.grid.cols + k] = Number.NaN;
    expect(groundItems(holed, map).unknown).toBe(true);
  });

  test("takes the largest round scale that shows everything", () => {
    const { corners, map } = frameOf();
    // 900 m over 80 mm want 1:11 250.
    expect(map.scale).toBe(12_500);
    for (const p of corners) expect(map.shown(p, 4.99)).toBe(true);
  });

  test("distances on it are geodesics to 1 in 10 000, both ways", () => {
    const { frame, map } = frameOf();
    for (const [dx, dy] of [
      [300, 0],
      [0, 300],
      [-210, 214],
    ] as const) {
      const a = { xM: 20, yM: -40 };
      const b = { xM: 20 + dx, yM: -40 + dy };
      const [p, q] = [map.mm(a), map.mm(b)];
      const paperM = (Math.hypot(q[0] - p[0], q[1] - p[1]) * map.scale) / 1000;
      const ground = geodesicInverse(frame.toLngLat(a), frame.toLngLat(b)).distanceM;
      expect(Math.abs(paperM / ground - 1)).toBeLessThan(1e-4);
    }
  });

  test("grid lines lie where their digits say, by the grid reference of places on them", () => {
    const { frame, map } = frameOf();
    const grid = usngGrid(map, frame, "14T NM");
    expect(grid.stepM).toBe(200);
    const back = ([x, y]: Pt) =>
      frame.toLngLat({
        xM: map.centre.xM + ((x - box.x - box.w / 2) * map.scale) / 1000,
        yM: map.centre.yM - ((y - box.y - box.h / 2) * map.scale) / 1000,
      });
    const lines = grid.items.filter((i) => i.kind === "path");
    let steep = 0;
    for (const l of lines)
      for (const p of l.lines[0]!) {
        const { eastingM, northingM } = toUtm(back(p));
        const off = (v: number): number => Math.abs(v / 200 - Math.round(v / 200)) * 200;
        expect(Math.min(off(eastingM), off(northingM))).toBeLessThan(0.05);
      }
    for (const t of grid.items.filter((i) => i.kind === "text")) {
      // The label stands right of its upright line at the foot, or over its level line at the left.
      const atFoot = t.at[1] > box.y + box.h - 1.5;
      const on: Pt = atFoot ? [t.at[0] - 0.4, box.y + box.h] : [box.x, t.at[1] + 0.5];
      const { zone, north, eastingM, northingM } = toUtm(back(on));
      // Half a metre inwards, so that a hair's rounding does not name the square before.
      const usng = toUsng(fromUtm({ zone, north, eastingM: eastingM + 0.5, northingM: northingM + 0.5 }), 3);
      expect(usng.split(" ")[atFoot ? 2 : 3]).toBe(t.text);
      if (atFoot) steep++;
    }
    expect(steep).toBeGreaterThan(2);
  });
});

describe("figures", () => {
  test("degrees and minutes carry over, without a leading nought", () => {
    expect(degreesMinutes({ lng: -98.99999999, lat: 41.9999999 })).toBe("42-00.000N 99-00.000W");
    expect(degreesMinutes({ lng: 7.05, lat: -3.5 })).toBe("3-30.000S 7-03.000E");
  });

  test("bearings never read 360, chances never 0 or 100", () => {
    expect(bearing(359.97)).toBe("0.0°");
    expect(bearing(-3.7)).toBe("356.3°");
    expect([1, 0.995, 0.5, 0, null].map(chance)).toEqual(["over 99 %", "over 99 %", "50 %", "under 1 %", "unknown"]);
  });

  test("a shortfall never prints as the limit reached", () => {
    const base = { unit: "m", text: "", source: "", status: "fail" as const };
    const plain = (k: ReturnType<typeof checkNumbers>) => [k.found, k.needs].map((t) => t.replaceAll("\u00a0", " "));
    expect(plain(checkNumbers({ ...base, id: "power-line:a", value: 9.24, limit: 9.24104 }))).toEqual([
      "9.2 m",
      "min 9.3 m",
    ]);
    expect(plain(checkNumbers({ ...base, id: "fall-zone:a", value: 8.97, limit: 9 }))).toEqual(["8.9 m", "min 9.0 m"]);
    expect(plain(checkNumbers({ ...base, unit: "degrees", id: "slope", value: 5.03, limit: 5 }))).toEqual([
      "5.1°",
      "max 5.0°",
    ]);
    expect(plain(checkNumbers({ ...base, unit: "degrees", id: "dish:a", value: 4.96, limit: 5 }))).toEqual([
      "4.9°",
      "min 5.0°",
    ]);
  });

  test("hatching stays inside its area and out of its hole", () => {
    const outer: Pt[] = [
      [0, 0],
      [20, 0],
      [20, 10],
      [0, 10],
      [0, 0],
    ];
    const hole: Pt[] = [
      [8, 3],
      [12, 3],
      [12, 7],
      [8, 7],
      [8, 3],
    ];
    for (const angle of [0, 45, -45, 90]) {
      const lines = hatch([outer, hole], 1, angle);
      const length = lines.reduce((sum, [a, b]) => sum + Math.hypot(b![0] - a![0], b![1] - a![1]), 0);
      // Lines a millimetre apart are as long as the area is large, less edge effects.
      expect(Math.abs(length - 184)).toBeLessThan(20);
      for (const [a, b] of lines) {
        const mid: Pt = [(a![0] + b![0]) / 2, (a![1] + b![1]) / 2];
        expect(mid[0] >= -1e-9 && mid[0] <= 20 + 1e-9 && mid[1] >= -1e-9 && mid[1] <= 10 + 1e-9).toBe(true);
        expect(mid[0] > 8 && mid[0] < 12 && mid[1] > 3 && mid[1] < 7).toBe(false);
      }
    }
  });
});
