import type { XY } from "../../geodesy/types.ts";
import type { RankAnswer, Spot } from "../../plan/outputs/types.ts";
import type { LoadedPlan, Rung } from "../../plan/types.ts";
import type { Scene } from "../../terrain/scene.ts";
import type { Meter } from "./block.ts";
import { type Box, hatch, type Item, line, type Pt, polygon, rect, slab, text } from "./draw.ts";
import { groundItems } from "./ground.ts";
import { Labels } from "./labels.ts";
import { fitFrame, type MapFrame, scaleBar, scaleText, usngGrid } from "./map-frame.ts";
import { allOf, anchorOf, type Shape, shapeOf } from "./shapes.ts";

export interface SiteMap {
  items: Item[];
  map: MapFrame;
  /** What the map shows, for the line under it. */
  caption: string;
}

const POINT = 1.35;

/** Whether every need of a point is met at a spot; null when one of them is unknown. */
function servedAt(spot: Spot, pointId: string): boolean | null {
  const rows = spot.points.filter((p) => p.id === pointId);
  if (rows.some((p) => p.met === false)) return false;
  return rows.length === 0 || rows.some((p) => p.met === null) ? null : true;
}

function diamond([x, y]: Pt, rung: Rung): Item[] {
  const h = POINT;
  const ring: Pt[] = [
    [x, y - h],
    [x + h, y],
    [x, y + h],
    [x - h, y],
  ];
  const items: Item[] = [
    polygon([ring], rung === "must" ? 0 : 1, { gray: 1, widthMm: 0.9 }),
    polygon([ring], rung === "must" ? 0 : 1, { gray: 0, widthMm: 0.28 }),
  ];
  if (rung === "should")
    items.push(
      polygon(
        [
          [
            [x - h, y],
            [x + h, y],
            [x, y + h],
          ],
        ],
        0,
        null,
      ),
    );
  return items;
}

const SLAB_H = 3.9;
/** Where a slab may stand from its place, mm: above it first, then aside. */
const SEATS: readonly Pt[] = [
  [0, -4.3],
  [-5, -4.3],
  [5, -4.3],
  [-6, -0.5],
  [6, -0.5],
  [0, 5.2],
  [-6, 4.5],
  [6, 4.5],
  [-9, -6],
  [9, -6],
];

const meets = (a: Box, b: Box): boolean => a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;

/** The sign of a ranked spot: a slab on a mast on a level bar; the bar is the place. It steps aside for what is taken. */
function spotSign(
  [x, y]: Pt,
  rank: number,
  chosen: boolean,
  taken: readonly Box[],
  frame: Box,
): { items: Item[]; box: Box } {
  const words = String(rank);
  const w = 3.4 + (words.length - 1) * 1.6;
  const boxes = SEATS.map(([dx, dy]): Box => ({ x: x + dx - w / 2, y: y + dy - SLAB_H / 2, w, h: SLAB_H }));
  const within = (b: Box): boolean =>
    b.x > frame.x && b.y > frame.y && b.x + b.w < frame.x + frame.w && b.y + b.h < frame.y + frame.h;
  const box = boxes.find((b) => within(b) && !taken.some((t) => meets(b, t))) ?? boxes[0]!;
  const mast: Pt[] = [
    [x, y],
    [box.x + w / 2, box.y + SLAB_H / 2],
  ];
  const bar: Pt[] = [
    [x - 1.5, y],
    [x + 1.5, y],
  ];
  const shape = slab(box, 0.9);
  return {
    box,
    items: [
      line(mast, 1.1, { gray: 1 }),
      line(bar, 1.2, { gray: 1 }),
      polygon([shape], null, { gray: 1, widthMm: 0.9 }),
      line(mast, 0.35),
      line(bar, 0.55),
      polygon([shape], chosen ? 0 : 1, { gray: 0, widthMm: 0.3 }),
      text([box.x + w / 2, box.y + 3.05], words, { bold: true, anchor: "middle", gray: chosen ? 1 : 0, sizePt: 9 }),
    ],
  };
}

/** A line with short strokes across it, as power lines are drawn. */
export function powerLine(points: readonly Pt[]): Item[] {
  const items: Item[] = [line(points, 0.9, { gray: 1 }), line(points, 0.4)];
  const STEP = 5;
  let rest = STEP / 2;
  for (let i = 0; i + 1 < points.length; i++) {
    const [x1, y1] = points[i]!;
    const [x2, y2] = points[i + 1]!;
    const d = Math.hypot(x2 - x1, y2 - y1);
    if (d === 0) continue;
    const [ux, uy] = [(x2 - x1) / d, (y2 - y1) / d];
    let t = rest;
    for (; t < d; t += STEP) {
      const [x, y] = [x1 + ux * t, y1 + uy * t];
      items.push(
        line(
          [
            [x - uy * 0.8 - ux * 0.4, y + ux * 0.8 - uy * 0.4],
            [x + uy * 0.8 + ux * 0.4, y - ux * 0.8 + uy * 0.4],
          ],
          0.3,
        ),
      );
    }
    rest = t - d;
  }
  return items;
}

const toRings = (map: MapFrame, s: Shape): Pt[][] => s.polygons.flatMap((p) => p.map((r) => r.map(map.mm)));
const toLines = (map: MapFrame, s: Shape): Pt[][] => s.lines.map((l) => l.map(map.mm));

/** Hazards and parking of the plan, each told by its pattern. */
export function standItems(loaded: LoadedPlan, scene: Scene, map: MapFrame, labels: Labels | null): Item[] {
  const items: Item[] = [];
  for (const f of loaded.parking.features) {
    const rings = toRings(map, shapeOf(scene.frame, f.geometry));
    if (rings.length > 0) items.push(polygon(rings, null, { gray: 0, widthMm: 0.45 }));
  }
  for (const f of loaded.hazards.features) {
    const s = shapeOf(scene.frame, f.geometry);
    const rings = toRings(map, s);
    const lines = toLines(map, s);
    switch (f.properties.kind) {
      case "power-line":
        for (const l of [...lines, ...rings]) items.push(...powerLine(l));
        break;
      case "water":
        if (rings.length > 0) items.push(polygon(rings, 0.93, { gray: 0.5, widthMm: 0.15 }));
        for (const h of hatch(rings, 1.5, 0)) items.push(line(h, 0.1, { gray: 0.5, dashMm: [1.6, 0.9] }));
        for (const l of lines) items.push(line(l, 0.4, { gray: 0.5, dashMm: [1.6, 0.9] }));
        break;
      case "keep-out":
        if (rings.length > 0) items.push(polygon(rings, null, { gray: 0, widthMm: 0.25 }));
        for (const a of [45, -45]) for (const h of hatch(rings, 1.8, a)) items.push(line(h, 0.1));
        for (const l of lines) items.push(line(l, 0.4, { dashMm: [0.4, 0.8] }));
        break;
      case "crowd":
        if (rings.length > 0) items.push(polygon(rings, null, { gray: 0, widthMm: 0.3, dashMm: [1.4, 0.9] }));
        break;
      case "obstacle":
        if (rings.length > 0) items.push(polygon(rings, 0.8, { gray: 0, widthMm: 0.25, dashMm: [0.6, 0.5] }));
        break;
      case "opening":
        for (const p of s.points) {
          const [x, y] = map.mm(p);
          items.push(rect({ x: x - 0.6, y: y - 0.6, w: 1.2, h: 1.2 }, 1, { gray: 0, widthMm: 0.25 }));
        }
        break;
    }
    const name = f.properties.name;
    const at = name && f.properties.kind === "power-line" ? longestInside(map, s) : null;
    if (labels && at && name) labels.put(map.mm(at), name, 0.9, false);
  }
  return items;
}

/** Middle of the longest stretch of a line that lies on the map. */
function longestInside(map: MapFrame, s: Shape): XY | null {
  let best: { at: XY; d: number } | null = null;
  for (const l of s.lines)
    for (let i = 0; i + 1 < l.length; i++) {
      const a = l[i]!;
      const b = l[i + 1]!;
      const at = { xM: (a.xM + b.xM) / 2, yM: (a.yM + b.yM) / 2 };
      const d = Math.hypot(a.xM - b.xM, a.yM - b.yM);
      if (map.shown(at, 3) && (best === null || d > best.d)) best = { at, d };
    }
  return best?.at ?? null;
}

/** True north at the map's upper right. */
function northArrow(map: MapFrame, scene: Scene): { items: Item[]; box: Box } {
  const x = map.box.x + map.box.w - 4.5;
  const y = map.box.y + 5.6;
  // The frame's grid north is drawn up; true north lies counter-clockwise of it by the convergence.
  const a = (-scene.frame.convergenceDeg(scene.frame.toLngLat(map.centre)) * Math.PI) / 180;
  const turn = (u: number, v: number): Pt => [
    x + u * Math.cos(a) - v * Math.sin(a),
    y + u * Math.sin(a) + v * Math.cos(a),
  ];
  return {
    box: { x: x - 3.2, y: map.box.y + 0.6, w: 6.4, h: 11.2 },
    items: [
      polygon([[turn(0, -4.4), turn(2, 2.2), turn(0, 0.8), turn(-2, 2.2)]], 0, { gray: 1, widthMm: 0.8 }),
      polygon([[turn(0, -4.4), turn(2, 2.2), turn(0, 0.8), turn(-2, 2.2)]], 0, null),
      text([x, y + 5.4], "N", { bold: true, anchor: "middle", haloMm: 0.8 }),
    ],
  };
}

/**
 * The map of a plan at a true round scale with USNG grid and scale bar.
 * @param spot    the spot the page is about: lines go from it to every point; null draws the spots alone
 * @param spots   every spot to be marked
 */
export function siteMap(
  box: Box,
  input: { loaded: LoadedPlan; scene: Scene; answer: RankAnswer; meter: Meter },
  spot: Spot | null,
  spots: readonly Spot[],
): SiteMap {
  const { loaded, scene, meter } = input;
  const { frame } = scene;
  const shapes = loaded.points.features.map((f) => ({ f, s: shapeOf(frame, f.geometry) }));
  const parking = loaded.parking.features.flatMap((f) => allOf(shapeOf(frame, f.geometry)));
  const places = new Map(spots.map((s) => [s.id, frame.toXY(s)]));
  const must = [...shapes.flatMap(({ s }) => allOf(s)), ...places.values(), ...(spot ? [] : parking)];
  const map = fitFrame(box, must, 5.5);
  const square = (spot ?? spots[0])?.usng.split(" ").slice(0, 2).join(" ") ?? "";
  const grid = usngGrid(map, frame, square);
  const ground = groundItems(scene, map);
  const labels = new Labels(box, meter);
  for (const b of grid.taken) labels.take(b);
  const bar = scaleBar(map, box.x + box.w, box.y + box.h);
  labels.take(bar.box);
  const arrow = northArrow(map, scene);
  labels.take(arrow.box);

  const inside: Item[] = [...ground.items, ...grid.items.filter((i) => i.kind === "path")];
  const signs: Item[] = [];
  const at = spot ? map.mm(places.get(spot.id) ?? frame.toXY(spot)) : null;
  // Points, bars and edge digits are there first; slabs find room between them.
  const taken: Box[] = [bar.box, arrow.box];
  for (const { s } of shapes) {
    const p = anchorOf(s);
    if (!p) continue;
    const [x, y] = map.mm(p);
    taken.push({ x: x - POINT, y: y - POINT, w: 2 * POINT, h: 2 * POINT });
  }
  const feet = spots.map((s) => map.mm(places.get(s.id)!));
  for (const [x, y] of feet) taken.push({ x: x - 1.5, y: y - 0.6, w: 3, h: 1.2 });
  const order = [...spots].sort((a, b) => Number(b.id === spot?.id) - Number(a.id === spot?.id));
  for (const s of order) {
    const own = map.mm(places.get(s.id)!);
    const sign = spotSign(own, s.rank, s.id === spot?.id, taken, box);
    taken.push(sign.box);
    labels.take(sign.box);
    // The page's own spot lies on top.
    if (s.id === spot?.id) signs.push(...sign.items);
    else signs.unshift(...sign.items);
  }
  for (const [x, y] of feet) labels.take({ x: x - 1.5, y: y - 0.6, w: 3, h: 1.2 });
  const wires: Item[] = [];
  const pointSigns: Item[] = [];
  const named: { at: Pt; words: string }[] = [];
  for (const { f, s } of shapes) {
    const { properties: p } = f;
    const rings = toRings(map, s);
    const dots = { widthMm: 0.55, dashMm: [0.01, 1.05], round: true, gray: 0 };
    if (rings.length > 0) inside.push(polygon(rings, null, dots));
    for (const l of toLines(map, s)) inside.push(line(l, dots.widthMm, dots));
    const anchor = anchorOf(s);
    if (!anchor) continue;
    const here = map.mm(anchor);
    if (at && spot) {
      const met = servedAt(spot, p.id ?? "");
      const dash = met === true ? {} : { dashMm: met === false ? [1.6, 1.1] : [0.4, 0.9] };
      wires.push(line([at, here], 0.7, { gray: 1 }), line([at, here], 0.22, dash));
    }
    pointSigns.push(...diamond(here, p.rung));
    labels.take({ x: here[0] - POINT, y: here[1] - POINT, w: 2 * POINT, h: 2 * POINT });
    named.push({ at: here, words: p.code ?? p.name ?? p.id ?? "" });
  }
  for (const n of named) labels.put(n.at, n.words, POINT);
  inside.push(...standItems(loaded, scene, map, labels), ...wires, ...pointSigns);
  inside.push(...grid.items.filter((i) => i.kind === "text"), ...labels.items, ...signs, ...arrow.items);
  const caption = [
    `${scaleText(map.scale)}.`,
    `Lines: US National Grid ${square}, every ${grid.stepM >= 1000 ? `${grid.stepM / 1000} km` : `${grid.stepM} m`}.`,
    ground.stepM === null ? "Ground heights are unknown here." : `Contours every ${ground.stepM} m.`,
    ...(spot ? ["Solid line: served. Dashed: falls short. Dotted: unknown."] : []),
    ...(ground.unknown ? ["Hatched: no ground data."] : []),
    "Diamond full: must; half: should; empty: nice. Thick outline: parking. Grey: trees, buildings.",
    ...(labels.left.length > 0 ? [`No room for: ${labels.left.join(", ")}.`] : []),
  ].join(" ");
  return {
    map,
    caption,
    items: [{ kind: "clip", box, items: inside }, ...bar.items, rect(box, null, { gray: 0, widthMm: 0.3 })],
  };
}
