import type { PointResult, Spot } from "../../src/plan/outputs/types.ts";
import { num, orbit } from "./format.ts";
import { worstPerPoint } from "./strip.ts";

export interface Pair {
  a: PointResult;
  b: PointResult;
  /** Chance of the first less that of the second, per cent; null where one is unknown. */
  differencePct: number | null;
}
export function pairs(a: Spot, b: Spot): Pair[] {
  const left = worstPerPoint(a.points);
  const right = worstPerPoint(b.points);
  const order = { must: 0, should: 1, nice: 2 };
  return [...left.values()]
    .filter((p) => right.has(p.id))
    .map((p) => {
      const q = right.get(p.id)!;
      const known = p.probability !== null && q.probability !== null;
      return {
        a: p,
        b: q,
        differencePct: known ? Math.round(p.probability! * 100) - Math.round(q.probability! * 100) : null,
      };
    })
    .sort((x, y) => order[x.a.rung] - order[y.a.rung]);
}
const list = (names: string[]): string =>
  names.length <= 1 ? (names[0] ?? "") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;

/** What tells two spots apart, in two sentences: the order's own rung first, then service and sky. */
export function comparison(a: Spot, b: Spot): { head: string; strong: string; rest: string } {
  const musts = a.mustsShort === 0 && b.mustsShort === 0 ? "Both serve every must." : "";
  const first = a.rank <= b.rank ? a : b;
  const second = first === a ? b : a;
  const f = first.rank;
  const s = second.rank;
  const must =
    first.mustsShort !== second.mustsShort
      ? `${f} is ahead on musts: ${first.mustsShort} short against ${second.mustsShort}`
      : Math.round(first.score) === Math.round(second.score)
        ? `${f} and ${s} score alike, ${num(first.score, 1)} against ${num(second.score, 1)}`
        : first.score > second.score
          ? `${f} is ahead on score, ${num(first.score)} against ${num(second.score)}`
          : `${f} is ahead in the order, though ${s} scores more, ${num(second.score)} against ${num(first.score)}`;
  const all = pairs(first, second);
  const lost = all.filter((p) => p.a.met === true && p.b.met === false).map((p) => p.b.name);
  const gained = all.filter((p) => p.a.met === false && p.b.met === true).map((p) => p.a.name);
  const parts: string[] = [];
  if (lost.length > 0) parts.push(`${s} loses ${list(lost)}.`);
  if (gained.length > 0) parts.push(`${f} loses ${list(gained)}, ${s} does not.`);
  const clear = (x: Spot): string[] => x.satellites.filter((v) => v.clear === true).map((v) => orbit(v.satelliteDeg));
  const ca = clear(first);
  const cb = clear(second);
  if (ca.join() !== cb.join())
    parts.push(
      `Clear sky: ${f} to ${ca.length === 0 ? "none" : list(ca)}, ${s} to ${cb.length === 0 ? "none" : list(cb)}.`,
    );
  return { head: musts, strong: must, rest: parts.join(" ") };
}
