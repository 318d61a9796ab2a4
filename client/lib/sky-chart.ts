import type { HorizonSample, SatelliteView, SkyAnswer } from "../../src/plan/outputs/types.ts";
import { linear, px } from "./scale.ts";

/** The horizon as seen from the dish: straight azimuth across, elevation up, around the satellites. */
export interface SkyGeometry {
  x: (azimuthDeg: number) => number;
  y: (elevationDeg: number) => number;
  azimuthAt: (pixel: number) => number;
  /** True azimuths of the window's edges; `to` may pass 360. */
  from: number;
  to: number;
  top: number;
  terrain: string;
  buildings: string;
  trees: string;
  others: string;
  unknown: { x: number; width: number }[];
  arc: string;
  arcTicks: { x: number; y: number }[];
  boxes: { view: SatelliteView; x: number; y: number; width: number; height: number; cx: number; cy: number }[];
  azimuthTicks: { azimuthDeg: number; x: number }[];
  elevationTicks: number[];
  frame: { left: number; right: number; top: number; bottom: number };
}
const MARGIN = { left: 36, right: 12, top: 22, bottom: 38 };
export const wrapTo = (azimuthDeg: number, from: number): number => from + ((((azimuthDeg - from) % 360) + 360) % 360);

/** Window of azimuths that holds every satellite with room beside it, 80° at least. */
export function skyWindow(satellites: readonly SatelliteView[]): { from: number; to: number } {
  const az = satellites.map((s) => s.azimuthDeg).sort((a, b) => a - b);
  if (az.length === 0) return { from: 90, to: 270 };
  let gap = 0;
  let start = az[0]!;
  let end = az.at(-1)!;
  az.forEach((a, i) => {
    const next = az[(i + 1) % az.length]!;
    const g = i === az.length - 1 ? next + 360 - a : next - a;
    if (g > gap) {
      gap = g;
      start = next;
      end = a;
    }
  });
  const spread = (((end - start) % 360) + 360) % 360;
  const span = Math.min(360, Math.max(80, spread + 54));
  const mid = start + spread / 2;
  const from = (((mid - span / 2) % 360) + 360) % 360;
  return { from, to: from + span };
}

/** @param offsetDeg what the axis' reading takes off true azimuth (declination for a compass axis, else 0) */
export function skyGeometry(sky: SkyAnswer, width: number, height: number, offsetDeg = 0): SkyGeometry {
  const frame = {
    left: MARGIN.left,
    right: Math.max(MARGIN.left + 40, width - MARGIN.right),
    top: MARGIN.top,
    bottom: Math.max(60, height - MARGIN.bottom),
  };
  const { from, to } = skyWindow(sky.satellites);
  const inside = sky.horizon
    .map((h) => ({ h, az: wrapTo(h.azimuthDeg, from) }))
    .filter((s) => s.az <= to + 1e-9)
    .sort((a, b) => a.az - b.az);
  const tallest = Math.max(
    30,
    ...sky.satellites.map((s) => s.elevationDeg + Math.max(s.neededDeg, 5) + 4),
    ...inside.map((s) => Math.min(80, (s.h.elevationDeg ?? 0) + 4)),
  );
  const top = Math.min(90, Math.ceil(tallest / 5) * 5);
  const x = linear(from, to, frame.left, frame.right);
  const y = linear(0, top, frame.bottom, frame.top);
  const area = (value: (h: HorizonSample) => number | null): string => {
    let d = "";
    let open = false;
    for (let i = 0; i <= inside.length; i++) {
      const s = inside[i];
      const v = s === undefined ? null : value(s.h);
      if (s !== undefined && v !== null && v > 0) {
        if (!open) d += `M${px(x(s.az))} ${px(frame.bottom)}`;
        d += `L${px(x(s.az))} ${px(y(Math.min(top, v)))}`;
        open = true;
      } else if (open) {
        d += `L${px(x(inside[i - 1]!.az))} ${px(frame.bottom)}Z`;
        open = false;
      }
    }
    return d;
  };
  const unknown: SkyGeometry["unknown"] = [];
  let start = -1;
  for (let i = 0; i <= inside.length; i++) {
    const void_ = i < inside.length && inside[i]!.h.elevationDeg === null;
    if (void_ && start < 0) start = i;
    if (!void_ && start >= 0) {
      const a = x(inside[start]!.az);
      unknown.push({ x: a, width: Math.max(2, x(inside[i - 1]!.az) - a) });
      start = -1;
    }
  }
  const arcPoints = sky.arc
    .map((a) => ({ az: wrapTo(a.azimuthDeg, from), el: a.elevationDeg, lon: a.satelliteDeg }))
    .filter((a) => a.az <= to && a.el >= 0 && a.el <= top)
    .sort((a, b) => a.az - b.az);
  const firstTick = Math.ceil((from - offsetDeg) / 10) * 10 + offsetDeg;
  const azimuthTicks: SkyGeometry["azimuthTicks"] = [];
  for (let a = firstTick; a <= to + 1e-9; a += 10) azimuthTicks.push({ azimuthDeg: a, x: x(a) });
  const step = top > 60 ? 20 : 10;
  return {
    x,
    y,
    azimuthAt: (pixel) =>
      ((linear(frame.left, frame.right, from, to)(Math.min(frame.right, Math.max(frame.left, pixel))) % 360) + 360) %
      360,
    from,
    to,
    top,
    terrain: area((h) => h.terrainDeg),
    buildings: area((h) => h.buildingDeg),
    trees: area((h) => h.treeDeg),
    others: area((h) => (h.kind === "surface" || h.kind === "measured" ? h.elevationDeg : null)),
    unknown,
    arc: arcPoints.map((p, i) => `${i === 0 ? "M" : "L"}${px(x(p.az))} ${px(y(p.el))}`).join(""),
    /** A mark each ten degrees of orbit. */
    arcTicks: arcPoints.filter((p) => Math.abs(p.lon % 10) < 1e-6).map((p) => ({ x: x(p.az), y: y(p.el) })),
    boxes: sky.satellites
      .filter((s) => s.elevationDeg > 0)
      .map((view) => {
        const half = view.neededDeg / Math.max(0.2, Math.cos((view.elevationDeg * Math.PI) / 180));
        const az = wrapTo(view.azimuthDeg, from);
        const left = x(az - half);
        const up = y(view.elevationDeg + view.neededDeg);
        return {
          view,
          x: left,
          y: up,
          width: x(az + half) - left,
          height: y(view.elevationDeg - view.neededDeg) - up,
          cx: x(az),
          cy: y(view.elevationDeg),
        };
      }),
    azimuthTicks,
    elevationTicks: Array.from({ length: Math.floor(top / step) + 1 }, (_, i) => i * step),
    frame,
  };
}

/** Horizon sample nearest to an azimuth. */
export function horizonAt(sky: SkyAnswer, azimuthDeg: number): HorizonSample | null {
  let best: HorizonSample | null = null;
  let least = Number.POSITIVE_INFINITY;
  for (const h of sky.horizon) {
    const off = Math.abs(((h.azimuthDeg - azimuthDeg + 540) % 360) - 180);
    if (off < least) {
      least = off;
      best = h;
    }
  }
  return best;
}
