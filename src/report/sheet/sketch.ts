import type { Spot } from "../../plan/outputs/types.ts";
import type { LoadedPlan } from "../../plan/types.ts";
import type { Scene } from "../../terrain/scene.ts";
import type { Meter } from "./block.ts";
import { type Box, GREY, type Item, line, type Pt, polygon, rect, text } from "./draw.ts";
import { num } from "./format.ts";
import { groundItems } from "./ground.ts";
import { Labels } from "./labels.ts";
import { fitFrame, scaleBar, scaleText } from "./map-frame.ts";
import { nearestOn, shapeOf } from "./shapes.ts";
import { standItems } from "./site-map.ts";

/** Default of the free radius round the mast, × tip height (common practice, no source). */
const FALL_ZONE = 1.5;

/** A point at a bearing from another, on paper, millimetres. */
const away = ([x, y]: Pt, bearingDeg: number, mm: number): Pt => {
  const a = (bearingDeg * Math.PI) / 180;
  return [x + mm * Math.sin(a), y - mm * Math.cos(a)];
};

function arrow(from: Pt, to: Pt, widthMm: number): Item[] {
  const a = Math.atan2(to[1] - from[1], to[0] - from[0]);
  const head = (turn: number): Pt => [to[0] - 2 * Math.cos(a + turn), to[1] - 2 * Math.sin(a + turn)];
  return [
    line([from, to], widthMm + 0.6, { gray: 1 }),
    line([from, to], widthMm),
    polygon([[to, head(0.38), head(-0.38)]], 0, null),
  ];
}

/** The line under a sketch. */
export const sketchCaption = (fallM: number, scale: number): string =>
  `Sketch ${scaleText(scale)}. Ring: keep ${num(Math.ceil(fallM * 10 - 1e-9) / 10, 1)} m round the mast free of people.`;

/** The spot at close range: footprint as parked, mast, free radius, what is near, which way the dish looks. */
export function siteSketch(
  box: Box,
  input: { loaded: LoadedPlan; scene: Scene; meter: Meter },
  spot: Spot,
): { items: Item[]; caption: string } {
  const { loaded, scene, meter } = input;
  const { unit } = loaded.plan;
  const here = scene.frame.toXY(spot);
  const [length, width] = unit.footprintM;
  const fallM =
    spot.checks.find((c) => c.id.startsWith("fall-zone"))?.limit ??
    unit.tipHeightM * (unit.fallZoneFactor ?? FALL_ZONE);
  const reach = Math.max(fallM, Math.hypot(length, width) / 2) * 1.25;
  const map = fitFrame(
    box,
    [
      { xM: here.xM - reach, yM: here.yM - reach },
      { xM: here.xM + reach, yM: here.yM + reach },
    ],
    2,
    200,
  );
  const mast = map.mm(here);
  const labels = new Labels(box, meter);
  const bar = scaleBar(map, box.x + box.w, box.y + box.h, 14);
  labels.take(bar.box);
  const inside: Item[] = [...groundItems(scene, map).items.filter((i) => i.kind === "path")];
  inside.push(...standItems(loaded, scene, map, null));

  const perM = 1000 / map.scale;
  const ring: Pt[] = Array.from({ length: 48 }, (_, i) => away(mast, i * 7.5, fallM * perM));
  inside.push(polygon([ring], null, { gray: 0, widthMm: 0.25, dashMm: [1.2, 0.8] }));
  // The heading is against true north; the sketch's up is the frame's grid north.
  const convergence = scene.frame.convergenceDeg(spot);
  const heading = (spot.headingDeg ?? unit.headingDeg ?? 0) - convergence;
  const corner = (along: number, across: number): Pt =>
    away(away(mast, heading, along * perM), heading + 90, across * perM);
  inside.push(
    polygon(
      [
        [
          corner(-length / 2, -width / 2),
          corner(length / 2, -width / 2),
          corner(length / 2, width / 2),
          corner(-length / 2, width / 2),
        ],
      ],
      0.9,
      { gray: 0, widthMm: 0.4 },
    ),
  );
  const nose = corner(length / 2, 0);
  const half = (Math.max(length, width) / 2) * perM;
  labels.take({ x: mast[0] - half, y: mast[1] - half, w: 2 * half, h: 2 * half });
  if (spot.headingDeg !== null) inside.push(...arrow(corner(length / 6, 0), away(nose, heading, 2.4), 0.35));
  const dish =
    spot.satellites.find((v) => v.clear === true && v.role === "primary") ?? spot.satellites.find((v) => v.clear);
  if (dish) {
    const to = away(mast, dish.azimuthDeg - convergence, Math.min(box.w, box.h) * 0.4);
    inside.push(line([mast, to], 0.25, { dashMm: [0.5, 0.6] }));
    labels.put(to, `dish ${dish.azimuthDeg.toFixed(0)}°`, 0.6);
  }
  inside.push(rect({ x: mast[0] - 0.8, y: mast[1] - 0.8, w: 1.6, h: 1.6 }, 0, { gray: 1, widthMm: 0.4 }));
  labels.take({ x: mast[0] - 2, y: mast[1] - 2, w: 4, h: 4 });
  labels.put(away(nose, heading, 2.6), "faces", 0.6);

  const notes: string[] = [];
  for (const f of loaded.hazards.features) {
    if (f.properties.kind !== "power-line") continue;
    const near = nearestOn(shapeOf(scene.frame, f.geometry), here);
    if (!near) continue;
    const bearing = (Math.atan2(near.at.xM - here.xM, near.at.yM - here.yM) * 180) / Math.PI;
    if (map.shown(near.at, 1)) {
      inside.push(line([mast, map.mm(near.at)], 0.2, { dashMm: [0.8, 0.5] }));
      continue;
    }
    // Off the sketch: an arrow at its edge says where and how far.
    const [ux, uy] = [Math.sin((bearing * Math.PI) / 180), -Math.cos((bearing * Math.PI) / 180)];
    const t = Math.min(
      ux === 0 ? Number.POSITIVE_INFINITY : ((ux > 0 ? box.x + box.w - 1.2 : box.x + 1.2) - mast[0]) / ux,
      uy === 0 ? Number.POSITIVE_INFINITY : ((uy > 0 ? box.y + box.h - 1.2 : box.y + 1.2) - mast[1]) / uy,
    );
    const tip: Pt = [mast[0] + ux * t, mast[1] + uy * t];
    inside.push(...arrow([tip[0] - ux * 5, tip[1] - uy * 5], tip, 0.25));
    labels.put([tip[0] - ux * 5.5, tip[1] - uy * 5.5], `line ${Math.floor(near.distanceM)} m`, 0.8, false);
    notes.push(f.properties.name ?? "power line");
  }
  return {
    caption: sketchCaption(fallM, map.scale),
    items: [
      { kind: "clip", box, items: [...inside, ...labels.items] },
      ...bar.items,
      rect(box, null, { gray: 0, widthMm: 0.3 }),
      text([box.x + 1, box.y + 3.2], "N up", { gray: GREY, haloMm: 0.6 }),
    ],
  };
}
