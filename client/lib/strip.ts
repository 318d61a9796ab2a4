import type { PointResult } from "../../src/plan/outputs/types.ts";

/** The reach strip: one column per point, same order and place in every row of the ledger. */
export type Rung = PointResult["rung"];
export interface Column {
  id: string;
  code: string;
  name: string;
  rung: Rung;
  x: number;
}
export interface Group {
  rung: Rung;
  label: string;
  x: number;
  width: number;
}
export interface StripLayout {
  columns: Column[];
  groups: Group[];
  width: number;
  barWidth: number;
  /** Points left out of the drawing; they stay in the table. */
  folded: number;
}
export interface Bar {
  id: string;
  x: number;
  /** 0…1; null = unknown. */
  value: number | null;
  target: number;
  met: boolean | null;
  /** Class 1…6 of the chance palette; 0 = unknown. */
  band: number;
}
const RUNGS: Rung[] = ["must", "should", "nice"];
const LABELS: Record<Rung, string> = { must: "must be served", should: "should be served", nice: "nice to have" };
const SHORT: Record<Rung, string> = { must: "must", should: "should", nice: "nice" };
const EDGES = [0.2, 0.5, 0.8, 0.9, 0.95];
export const MOST_COLUMNS = 24;

/** Class of a chance in the six-class palette; the upper edge belongs to the class above. */
export const band = (value: number | null): number => (value === null ? 0 : 1 + EDGES.filter((e) => value >= e).length);

/** A point may hold several needs: the one furthest below its target speaks for it, unknown before known. */
export function worstPerPoint(points: readonly PointResult[]): Map<string, PointResult> {
  const worst = new Map<string, PointResult>();
  const slack = (p: PointResult): number =>
    p.probability === null ? Number.NEGATIVE_INFINITY : p.probability - p.target;
  for (const p of points) {
    const seen = worst.get(p.id);
    if (seen === undefined || slack(p) < slack(seen)) worst.set(p.id, p);
  }
  return worst;
}

/**
 * Places of the columns for every row at once.
 * @param rows   points of each spot, any order; the first row's order is kept inside a rung
 * @param widthPx room for the strip
 * Over 24 points: all musts and the ten widest spreads stay, the rest is folded.
 */
export function layoutStrip(rows: readonly (readonly PointResult[])[], widthPx: number): StripLayout {
  const first = rows[0] ?? [];
  const seen = new Map<string, PointResult>();
  for (const p of first) if (!seen.has(p.id)) seen.set(p.id, p);
  let kept = [...seen.values()];
  if (kept.length > MOST_COLUMNS) {
    const spread = new Map<string, number>();
    for (const p of kept) {
      const values = rows.map((r) => worstPerPoint(r).get(p.id)?.probability ?? 0);
      spread.set(p.id, Math.max(...values) - Math.min(...values));
    }
    const others = kept
      .filter((p) => p.rung !== "must")
      .sort((a, b) => spread.get(b.id)! - spread.get(a.id)!)
      .slice(0, 10);
    const stay = new Set([...kept.filter((p) => p.rung === "must"), ...others].map((p) => p.id));
    kept = kept.filter((p) => stay.has(p.id));
  }
  const rungs = RUNGS.filter((r) => kept.some((p) => p.rung === r));
  const gap = 9;
  const pitch = Math.min(32, (widthPx - gap * Math.max(0, rungs.length - 1)) / Math.max(1, kept.length));
  const columns: Column[] = [];
  const groups: Group[] = [];
  let x = 0;
  for (const rung of rungs) {
    const start = x;
    for (const p of kept.filter((k) => k.rung === rung)) {
      columns.push({ id: p.id, code: p.code || p.name.slice(0, 2), name: p.name, rung, x });
      x += pitch;
    }
    const width = x - start - pitch * 0.15;
    const label = width < LABELS[rung].length * 5.3 ? SHORT[rung] : LABELS[rung];
    groups.push({ rung, label, x: start, width });
    x += gap;
  }
  return { columns, groups, width: Math.max(0, x - gap), barWidth: pitch * 0.85, folded: seen.size - kept.length };
}

export function stripBars(layout: StripLayout, points: readonly PointResult[]): Bar[] {
  const worst = worstPerPoint(points);
  return layout.columns.map((c) => {
    const p = worst.get(c.id);
    const value = p?.probability ?? null;
    return { id: c.id, x: c.x, value, target: p?.target ?? 0, met: p?.met ?? null, band: band(value) };
  });
}

/** The sentence a strip stands for: "serves 13 of 14; short: Livestock barn 88 %". */
export function stripSentence(points: readonly PointResult[], say: (p: number | null) => string): string {
  const all = [...worstPerPoint(points).values()];
  const served = all.filter((p) => p.met === true).length;
  const short = all.filter((p) => p.met === false);
  const unknown = all.filter((p) => p.met === null);
  const parts = [`Serves ${served} of ${all.length}`];
  if (short.length > 0) parts.push(`short: ${short.map((p) => `${p.name} ${say(p.probability)}`).join(", ")}`);
  if (unknown.length > 0) parts.push(`unknown: ${unknown.map((p) => p.name).join(", ")}`);
  return parts.join("; ");
}
