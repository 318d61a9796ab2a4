import type { PathAnswer } from "../../src/plan/outputs/types.ts";
import { linear, px, ticks } from "./scale.ts";

/**
 * The cross-section as drawn: the map cut open along one line. Heights are true heights above sea level,
 * so the ray (`lineM`, direct ray less Earth bulge) bends down in the middle by the bulge; nothing else is curved.
 */
export interface Section {
  x: (distanceM: number) => number;
  y: (heightM: number) => number;
  /** Metres along the path for a pixel column, inside the path. */
  alongAt: (pixel: number) => number;
  ground: string[];
  trees: string[];
  solids: string[];
  fresnel: string;
  line: string;
  /** Straight chord between the antennas; differs from `line` by the bulge. Empty when the two look alike. */
  chord: string;
  unknown: { x: number; width: number }[];
  xTicks: number[];
  yTicks: number[];
  /** How many times heights are stretched against distances. */
  stretch: number;
  bulgeM: number;
  frame: { left: number; right: number; top: number; bottom: number };
}
const MARGIN = { left: 44, right: 14, top: 14, bottom: 24 };

/** Runs of consecutive indices for which `keep` holds. */
export function runsOf(n: number, keep: (i: number) => boolean): [from: number, to: number][] {
  const out: [number, number][] = [];
  let from = -1;
  for (let i = 0; i <= n; i++) {
    const on = i < n && keep(i);
    if (on && from < 0) from = i;
    if (!on && from >= 0) {
      out.push([from, i - 1]);
      from = -1;
    }
  }
  return out;
}

/** Greatest drop of the ray below the straight chord, m. */
export function bulgeOf(p: PathAnswer): number {
  const first = p.lineM[0];
  const last = p.lineM.at(-1);
  if (first == null || last == null) return 0;
  let most = 0;
  p.distancesM.forEach((d, i) => {
    const ray = p.lineM[i];
    if (ray == null) return;
    most = Math.max(most, first + ((last - first) * d) / p.distanceM - ray);
  });
  return most;
}

/** Highest canopy at a sample and its neighbours, m AMSL; canopy and surface samples need not fall together. */
const treeTop = (p: PathAnswer, i: number): number =>
  Math.max(...[i - 1, i, i + 1].map((k) => p.canopyTopM[k] ?? Number.NEGATIVE_INFINITY));

/** @param unitM metres in one unit of the axis (1, or 0.3048 for feet) */
export function sectionGeometry(p: PathAnswer, width: number, height: number, unitM = 1): Section {
  const frame = {
    left: MARGIN.left,
    right: Math.max(MARGIN.left + 40, width - MARGIN.right),
    top: MARGIN.top,
    bottom: Math.max(60, height - MARGIN.bottom),
  };
  const n = p.distancesM.length;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  const see = (v: number | null | undefined): void => {
    if (v == null || !Number.isFinite(v)) return;
    low = Math.min(low, v);
    high = Math.max(high, v);
  };
  for (let i = 0; i < n; i++) {
    see(p.groundM[i]);
    see(p.surfaceM[i]);
    see(p.canopyTopM[i]);
    const line = p.lineM[i];
    if (line != null) {
      see(line + p.fresnelRadiusM[i]!);
      see(line);
    }
  }
  if (!(high > low)) {
    low = (Number.isFinite(low) ? low : 0) - 5;
    high = low + 10;
  }
  const pad = (high - low) * 0.08;
  const x = linear(0, p.distanceM || 1, frame.left, frame.right);
  const y = linear(low - pad, high + pad, frame.bottom, frame.top);
  const at = (i: number, h: number): string => `${px(x(p.distancesM[i]!))} ${px(y(h))}`;
  const floor = px(frame.bottom);
  const areas = (top: readonly (number | null)[], above: boolean): string[] =>
    runsOf(n, (i) => top[i] != null && (!above || (p.groundM[i] != null && top[i]! > p.groundM[i]! + 0.3))).map(
      ([a, b]) => {
        const half = (p.distancesM[1]! - p.distancesM[0]!) / 2;
        const left = px(x(Math.max(0, p.distancesM[a]! - (above ? half : 0))));
        const right = px(x(Math.min(p.distanceM, p.distancesM[b]! + (above ? half : 0))));
        const points: string[] = [];
        for (let i = a; i <= b; i++) points.push(at(i, top[i]!));
        const base = (i: number): string => (above ? px(y(p.groundM[i]!)) : floor);
        return `M${left} ${base(a)}L${left} ${px(y(top[a]!))}L${points.join("L")}L${right} ${px(y(top[b]!))}L${right} ${base(b)}Z`;
      },
    );
  const known = runsOf(n, (i) => p.lineM[i] != null);
  const line = known
    .map(([a, b]) => `M${Array.from({ length: b - a + 1 }, (_, k) => at(a + k, p.lineM[a + k]!)).join("L")}`)
    .join("");
  const fresnel = known
    .map(([a, b]) => {
      const up: string[] = [];
      const down: string[] = [];
      for (let i = a; i <= b; i++) {
        up.push(at(i, p.lineM[i]! + p.fresnelRadiusM[i]!));
        down.unshift(at(i, p.lineM[i]! - p.fresnelRadiusM[i]!));
      }
      return `M${up.join("L")}L${down.join("L")}Z`;
    })
    .join("");
  const bulgeM = bulgeOf(p);
  const pxPerM = (frame.bottom - frame.top) / (high - low + 2 * pad);
  const first = p.lineM[0];
  const last = p.lineM.at(-1);
  const chord = bulgeM * pxPerM > 1.5 && first != null && last != null ? `M${at(0, first)}L${at(n - 1, last)}` : "";
  return {
    x,
    y,
    alongAt: (pixel) => Math.min(p.distanceM, Math.max(0, linear(frame.left, frame.right, 0, p.distanceM)(pixel))),
    ground: areas(p.groundM, false),
    trees: areas(p.canopyTopM, true),
    // A surface that is the tree tops is drawn as trees, not as something solid.
    solids: areas(
      p.surfaceM.map((v, k) => (v !== null && treeTop(p, k) >= v - 1 ? null : v)),
      true,
    ),
    fresnel,
    line,
    chord,
    unknown: runsOf(n, (i) => p.groundM[i] == null).map(([a, b]) => {
      const left = x(p.distancesM[Math.max(0, a - 1)]!);
      return { x: left, width: x(p.distancesM[Math.min(n - 1, b + 1)]!) - left };
    }),
    xTicks: ticks(0, p.distanceM / unitM, Math.max(2, (frame.right - frame.left) / 90)).map((v) => v * unitM),
    yTicks: ticks((low - pad) / unitM, (high + pad) / unitM, Math.max(2, (frame.bottom - frame.top) / 40)).map(
      (v) => v * unitM,
    ),
    stretch: pxPerM / ((frame.right - frame.left) / Math.max(1, p.distanceM)),
    bulgeM,
    frame,
  };
}

/** Index of the sample nearest to a distance along the path. */
export function sampleAt(p: PathAnswer, alongM: number): number {
  const d = p.distancesM;
  let a = 0;
  let b = d.length - 1;
  while (b - a > 1) {
    const m = (a + b) >> 1;
    if (d[m]! <= alongM) a = m;
    else b = m;
  }
  return alongM - d[a]! <= d[b]! - alongM ? a : b;
}

/** The loss in named parts that add up to the whole. */
export function lossTerms(p: PathAnswer): { name: string; value: number }[] {
  if (p.lossDb === null) return [];
  const free = p.parts.Lbfs ?? 32.45 + 20 * Math.log10(p.frequencyMHz) + 20 * Math.log10(p.distanceM / 1000);
  const out = [{ name: "Free space", value: free }];
  const bend = p.parts.Ld ?? p.parts.Ldp ?? p.parts.Ld50;
  if (bend !== undefined && bend > 0.05) out.push({ name: "over edges", value: bend });
  if (p.vegetation !== null && p.vegetation.lossDb > 0.05) out.push({ name: "trees", value: p.vegetation.lossDb });
  const rest = p.lossDb - out.reduce((s, t) => s + t.value, 0);
  if (Math.abs(rest) >= 0.05) out.push({ name: "other terms", value: rest });
  return out;
}
