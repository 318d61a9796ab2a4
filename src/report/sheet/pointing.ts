import type { SatelliteView, SkyAnswer, Spot } from "../../plan/outputs/types.ts";
import { type Block, type Meter, paragraph, type Run, stack } from "./block.ts";
import { type Box, GREY, hatch, type Item, line, type Pt, polygon, rect, text } from "./draw.ts";
import { bearing, num, signed } from "./format.ts";
import { Labels } from "./labels.ts";

export type Names = ReadonlyMap<string, string>;

/** Clear, unknown or blocked, with the degrees that say it; a shortfall never reads as the degrees needed. */
export function skyState(v: SatelliteView): string {
  if (v.clear === null || v.clearanceDeg === null) return "unknown";
  const rounded = Number(v.clearanceDeg.toFixed(1));
  const found = !v.clear && rounded >= v.neededDeg ? Math.floor(v.clearanceDeg * 10) / 10 : rounded;
  if (v.clearanceDeg < 0) return "blocked";
  return v.clear ? `${num(found, 1)}° clear` : `${num(found, 1)}° clear, needs ${num(v.neededDeg, 1)}°`;
}

/** The satellite to point at: the clear primary, else the first clear one, else the first. */
export const chosenView = (spot: Spot): SatelliteView | null =>
  spot.satellites.find((v) => v.clear === true && v.role === "primary") ??
  spot.satellites.find((v) => v.clear === true) ??
  spot.satellites[0] ??
  null;

/** Pointing figures of one satellite, large. */
export function pointingFigures(v: SatelliteView, w: number, _meter: Meter): Block {
  const cells: [string, string, number][] = [
    ["Compass", bearing(v.azimuthMagneticDeg), 15],
    ["True", bearing(v.azimuthDeg), 11],
    ["Tilt up", `${num(v.elevationDeg, 1)}°`, 15],
    ["Skew", `${signed(v.skewDeg, 1)}°`, 11],
  ];
  const share = [0.31, 0.24, 0.25, 0.2];
  const items: Item[] = [];
  let x = 0;
  for (const [i, [label, value, size]] of cells.entries()) {
    items.push(text([x, 2.8], label, { gray: GREY }), text([x, 8.6], value, { sizePt: size, bold: true }));
    x += w * share[i]!;
  }
  return { w, h: 10, items };
}

/** What is seen in the pointing direction, and what stands in the way. */
export function skyWords(spot: Spot, names: Names, w: number, meter: Meter): Block {
  const runs: Run[] = [];
  for (const v of spot.satellites) {
    runs.push({ text: `${names.get(v.id) ?? v.id}: ${skyState(v)}`, bold: true });
    const b = v.blockedBy;
    if (b && v.clear !== true)
      runs.push({ text: `, in the way: ${b.name}, ${b.distanceM.toFixed(0)} m off at ${bearing(b.azimuthDeg)} true` });
    runs.push({
      text: `. Compass ${bearing(v.azimuthMagneticDeg)}, tilt ${num(v.elevationDeg, 1)}°, skew ${signed(v.skewDeg, 1)}°. `,
    });
  }
  runs.push({ text: "Read the compass 5 m from steel. Skew: clockwise seen from behind the dish." });
  return paragraph(runs, w, meter, { sizePt: 8 });
}

const KIND_GRAY = { terrain: 0.55, building: 0.78, tree: 0.88 } as const;

/** The sky of a spot as a straight strip, azimuth across, elevation up. */
export function horizonStrip(sky: SkyAnswer, w: number, h: number, names: Names, meter: Meter): Block {
  const shown = sky.satellites.filter((v) => v.elevationDeg > 0);
  const middle = shown.length > 0 ? shown.reduce((sum, v) => sum + v.azimuthDeg, 0) / shown.length : 180;
  const half = Math.min(180, Math.max(45, ...shown.map((v) => Math.abs(v.azimuthDeg - middle) + 22)));
  const from = middle - half;
  const highest = Math.max(25, ...shown.map((v) => v.elevationDeg + v.neededDeg + 9));
  const top = Math.min(90, Math.max(30, Math.ceil(highest / 10) * 10));
  const box: Box = { x: 6, y: 0.5, w: w - 6.5, h: h - 8.5 };
  const x = (azimuth: number): number => box.x + ((azimuth - from) / (2 * half)) * box.w;
  const y = (elevation: number): number => box.y + box.h - (Math.max(0, elevation) / top) * box.h;
  const turn = (azimuth: number): number => from + ((((azimuth - from) % 360) + 360) % 360);
  const inside: Item[] = [];
  const outside: Item[] = [];
  for (let e = 0; e <= top; e += top > 40 ? 20 : 10) {
    if (e > 0)
      inside.push(
        line(
          [
            [box.x, y(e)],
            [box.x + box.w, y(e)],
          ] as Pt[],
          0.1,
          { gray: 0.7 },
        ),
      );
    outside.push(text([box.x - 0.8, y(e) + 1], `${e}°`, { anchor: "end" }));
  }
  const samples = sky.horizon.map((s) => ({ ...s, at: turn(s.azimuthDeg) })).sort((p, q) => p.at - q.at);
  // A sample just before the window and one just behind it close the skyline at the edges.
  const closing = samples.length > 1 ? [{ ...samples.at(-1)!, at: samples.at(-1)!.at - 360 }, ...samples] : samples;
  const skyline = (value: (s: (typeof samples)[number]) => number | null, gray: number, strokeGray: number): void => {
    if (closing.length < 2) return;
    const points = closing.map((s): Pt => [x(s.at), y(value(s) ?? 0)]);
    const ring: Pt[] = [[points[0]![0], y(0)], ...points, [points.at(-1)![0], y(0)]];
    inside.push(polygon([ring], gray, { gray: strokeGray, widthMm: 0.15 }));
  };
  if (sky.horizon.some((s) => s.treeDeg !== null)) skyline((s) => s.treeDeg, KIND_GRAY.tree, 0.5);
  if (sky.horizon.some((s) => s.buildingDeg !== null)) skyline((s) => s.buildingDeg, KIND_GRAY.building, 0.2);
  skyline(
    (s) => s.terrainDeg ?? (s.kind === "measured" || s.kind === "surface" ? s.elevationDeg : null),
    KIND_GRAY.terrain,
    0.1,
  );
  // Where the data end nothing is known: hatched from top to bottom, never drawn as open sky.
  for (let i = 0; i < closing.length; i++) {
    if (closing[i]!.elevationDeg !== null) continue;
    const to = closing[i + 1]?.at ?? closing[i]!.at + 1;
    const ring: Pt[] = [
      [x(closing[i]!.at), y(0)],
      [x(to), y(0)],
      [x(to), y(top)],
      [x(closing[i]!.at), y(top)],
    ];
    for (const l of hatch([ring], 1.3, 45)) inside.push(line(l, 0.1, { gray: 0.4 }));
  }
  const arc = sky.arc
    .filter((p) => p.elevationDeg > 0)
    .map((p) => ({ at: turn(p.azimuthDeg), e: p.elevationDeg }))
    .sort((p, q) => p.at - q.at);
  if (arc.length > 1)
    inside.push(
      line(
        arc.map((p): Pt => [x(p.at), y(p.e)]),
        0.2,
        { dashMm: [1.3, 0.9] },
      ),
    );
  const labels = new Labels(box, meter);
  for (const v of shown) {
    const at: Pt = [x(turn(v.azimuthDeg)), y(v.elevationDeg)];
    const m = v.neededDeg;
    const wide = ((m / Math.max(0.2, Math.cos((v.elevationDeg * Math.PI) / 180))) * box.w) / (2 * half);
    const high = (m / top) * box.h;
    const frame: Box = { x: at[0] - wide, y: at[1] - high, w: 2 * wide, h: 2 * high };
    inside.push(
      rect(frame, null, { gray: 0, widthMm: 0.3, ...(v.clear === true ? {} : { dashMm: [1, 0.7] }) }),
      rect({ x: at[0] - 0.6, y: at[1] - 0.6, w: 1.2, h: 1.2 }, 0, null),
    );
    labels.take(frame);
  }
  for (const v of shown) {
    const at: Pt = [x(turn(v.azimuthDeg)), y(v.elevationDeg)];
    labels.put(at, `${names.get(v.id) ?? v.id} ${skyState(v)}`, (v.neededDeg / top) * box.h + 0.3);
  }
  inside.push(...labels.items);
  const step = [10, 15, 20, 30, 45, 90].find((s) => (s / (2 * half)) * box.w >= 10.5) ?? 90;
  for (let z = Math.ceil(from / step) * step; z <= from + 2 * half; z += step) {
    const a = ((z % 360) + 360) % 360;
    const cardinal = ({ 0: " N", 90: " E", 180: " S", 270: " W" } as Record<number, string>)[a] ?? "";
    if (x(z) < box.x + 3 || x(z) > box.x + box.w - 3) continue;
    outside.push(
      line(
        [
          [x(z), box.y + box.h],
          [x(z), box.y + box.h + 0.9],
        ] as Pt[],
        0.2,
      ),
      text([x(z), box.y + box.h + 3.9], `${a}°${cardinal}`, { anchor: "middle", bold: cardinal !== "" }),
    );
  }
  const d = sky.declinationDeg;
  outside.push(
    text(
      [box.x, box.y + box.h + 7.4],
      `Azimuth, true. Compass reads ${Math.abs(d).toFixed(1)}° ${d >= 0 ? "less" : "more"}.`,
    ),
  );
  return {
    w,
    h,
    items: [
      { kind: "clip", box, items: inside },
      line(
        [
          [box.x, box.y + box.h],
          [box.x + box.w, box.y + box.h],
        ] as Pt[],
        0.45,
      ),
      ...outside,
    ],
  };
}

/** The pointing card of a spot; without a horizon it says so instead of showing open sky. */
export function pointingCard(
  spot: Spot,
  sky: SkyAnswer | null,
  names: Names,
  w: number,
  stripH: number,
  meter: Meter,
): Block {
  const v = chosenView(spot);
  if (!v) return paragraph("No satellite is in the plan.", w, meter);
  return stack([
    paragraph([{ text: `Point at ${names.get(v.id) ?? v.id}`, bold: true }], w, meter),
    pointingFigures(v, w, meter),
    skyWords(spot, names, w, meter),
    { w, h: 1, items: [] },
    sky
      ? horizonStrip(sky, w, stripH, names, meter)
      : paragraph("The horizon strip was not computed for this sheet.", w, meter, { gray: GREY }),
  ]);
}
