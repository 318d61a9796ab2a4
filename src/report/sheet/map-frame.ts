import { fromUtm, tmConvergenceDeg, toUtm } from "../../geodesy/index.ts";
import type { LngLat, LocalFrame, XY } from "../../geodesy/types.ts";
import { type Box, GREY, type Item, line, type Pt, text } from "./draw.ts";

/** A window of the plan's frame on the page at a true, round scale; up is the frame's grid north. */
export interface MapFrame {
  box: Box;
  /** The 15 000 of 1:15 000. */
  scale: number;
  centre: XY;
  mm(at: XY): Pt;
  shown(at: XY, marginMm?: number): boolean;
}

const ROUND = [
  100, 200, 250, 500, 1000, 1250, 2000, 2500, 4000, 5000, 7500, 10_000, 12_500, 15_000, 20_000, 25_000, 30_000, 40_000,
  50_000, 75_000, 100_000, 150_000, 200_000, 250_000, 500_000, 1_000_000,
];

/** The largest round scale at which everything that must be seen lies in the box, a margin inside. */
export function fitFrame(box: Box, must: readonly XY[], marginMm: number, least = 500): MapFrame {
  const xs = must.map((p) => p.xM);
  const ys = must.map((p) => p.yM);
  const [west, east, south, north] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const needed = Math.max((east - west) / (box.w - 2 * marginMm), (north - south) / (box.h - 2 * marginMm)) * 1000;
  const scale = ROUND.find((s) => s >= needed && s >= least) ?? Math.ceil(needed / 1e6) * 1e6;
  return frameAt(box, { xM: (west + east) / 2, yM: (south + north) / 2 }, scale);
}

export function frameAt(box: Box, centre: XY, scale: number): MapFrame {
  const perM = 1000 / scale;
  const mm = (p: XY): Pt => [
    box.x + box.w / 2 + (p.xM - centre.xM) * perM,
    box.y + box.h / 2 - (p.yM - centre.yM) * perM,
  ];
  return {
    box,
    scale,
    centre,
    mm,
    shown(p, marginMm = 0) {
      const [x, y] = mm(p);
      return (
        x >= box.x + marginMm && x <= box.x + box.w - marginMm && y >= box.y + marginMm && y <= box.y + box.h - marginMm
      );
    },
  };
}

/** The scale as it is printed: 1:15 000. */
export const scaleText = (scale: number): string => `1:${String(scale).replace(/\B(?=(\d{3})+$)/g, "\u00a0")}`;

const STEPS_M = [10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000];
const LEAST_SQUARE_MM = 13;

export interface UsngGrid {
  items: Item[];
  /** Places taken by edge labels. */
  taken: Box[];
  stepM: number;
  /** Zone and 100 km square at the centre: "14T NM". */
  square: string;
}

/**
 * Lines of the US National Grid (the UTM grid of the centre's zone) over a map in the plan's own frame, so that they
 * lie turned by the difference of the two convergences, with their digits along the lower and left edges.
 * Source: FGDC-STD-011-2001: digits are those of the UTM coordinate below the 100 km square.
 */
export function usngGrid(map: MapFrame, frame: LocalFrame, square: string): UsngGrid {
  const { box } = map;
  const stepM = STEPS_M.find((s) => (s * 1000) / map.scale >= LEAST_SQUARE_MM) ?? STEPS_M.at(-1)!;
  const here = toUtm(frame.toLngLat(map.centre));
  const reachM = (Math.hypot(box.w, box.h) / 2) * (map.scale / 1000) * 1.05;
  const place = (eastingM: number, northingM: number): Pt =>
    map.mm(frame.toXY(fromUtm({ zone: here.zone, north: here.north, eastingM, northingM })));
  const items: Item[] = [];
  const taken: Box[] = [];
  const digits = stepM >= 1000 ? 2 : stepM >= 100 ? 3 : 4;
  const label = (metres: number): string =>
    String(Math.round((((metres % 100_000) + 100_000) % 100_000) / 10 ** (5 - digits))).padStart(digits, "0");
  const PARTS = 8;
  const along = (at: (share: number) => Pt): Pt[] => Array.from({ length: PARTS + 1 }, (_, i) => at(i / PARTS));
  const write = (at: Pt, words: string): void => {
    const w = words.length * 1.75 + 0.6;
    items.push(text(at, words, { gray: GREY, haloMm: 0.7 }));
    taken.push({ x: at[0], y: at[1] - 2.4, w, h: 2.8 });
  };
  const first = (v: number): number => Math.ceil((v - reachM) / stepM) * stepM;
  for (let e = first(here.eastingM); e <= here.eastingM + reachM; e += stepM) {
    const points = along((t) => place(e, here.northingM - reachM + 2 * reachM * t));
    items.push(line(points, 0.1, { gray: 0.5 }));
    const x = crossing(points, 1, box.y + box.h);
    if (x !== null && x > box.x + 8 && x < box.x + box.w - 7) write([x + 0.4, box.y + box.h - 0.8], label(e));
  }
  for (let n = first(here.northingM); n <= here.northingM + reachM; n += stepM) {
    const points = along((t) => place(here.eastingM - reachM + 2 * reachM * t, n));
    items.push(line(points, 0.1, { gray: 0.5 }));
    const y = crossing(points, 0, box.x);
    if (y !== null && y > box.y + 4 && y < box.y + box.h - 4) write([box.x + 0.6, y - 0.5], label(n));
  }
  return { items, taken, stepM, square };
}

/** The other coordinate where a line first takes the value on an axis (0 across, 1 down). */
function crossing(points: readonly Pt[], axis: 0 | 1, value: number): number | null {
  const other = axis === 0 ? 1 : 0;
  for (let i = 0; i + 1 < points.length; i++) {
    const a = points[i]!;
    const b = points[i + 1]!;
    if (a[axis] > value === b[axis] > value) continue;
    return a[other] + ((value - a[axis]) / (b[axis] - a[axis])) * (b[other] - a[other]);
  }
  return null;
}

/** Angle from true to USNG grid north at a place, degrees, east positive. */
export function usngConvergenceDeg(place: LngLat): number {
  const { zone } = toUtm(place);
  let diff = place.lng - (zone * 6 - 183);
  if (diff > 180) diff -= 360;
  if (diff < -180) diff += 360;
  return tmConvergenceDeg(place.lat, diff);
}

/** A scale bar of a round length on white, with its lower right corner at a place. */
export function scaleBar(map: MapFrame, right: number, bottom: number, mostMm = 26): { items: Item[]; box: Box } {
  const lengths = [5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000];
  const lengthM = lengths.filter((m) => (m * 1000) / map.scale <= mostMm).at(-1) ?? lengths[0]!;
  const w = (lengthM * 1000) / map.scale;
  const box: Box = { x: right - w - 6, y: bottom - 6.4, w: w + 6, h: 6.4 };
  const x = box.x + 2;
  const y = bottom - 1.6;
  const words = lengthM >= 1000 ? `${lengthM / 1000} km` : `${lengthM} m`;
  const half = w / 2;
  return {
    box,
    items: [
      {
        kind: "path",
        lines: [
          [
            [box.x, box.y],
            [box.x + box.w, box.y],
            [box.x + box.w, box.y + box.h],
            [box.x, box.y + box.h],
          ],
        ],
        closed: true,
        fill: 1,
        stroke: { gray: 0, widthMm: 0.2 },
      },
      {
        kind: "path",
        lines: [
          [
            [x, y - 1],
            [x + half, y - 1],
            [x + half, y],
            [x, y],
          ],
        ],
        closed: true,
        fill: 0,
        stroke: null,
      },
      line(
        [
          [x, y - 1],
          [x + w, y - 1],
          [x + w, y],
          [x, y],
          [x, y - 1],
        ],
        0.2,
      ),
      text([x, y - 1.6], "0"),
      text([x + w + 2.4, y - 1.6], words, { anchor: "end" }),
    ],
  };
}
