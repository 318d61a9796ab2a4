import type { Position } from "./context.ts";

/** Whether all positions of a ring lie on one line (within a billionth of its length), so that it encloses nothing. */
export function isFlat(ring: readonly Position[]): boolean {
  const [o] = ring;
  const from = (p: Position): [number, number] => [p[0]! - o![0]!, p[1]! - o![1]!];
  const far = ring.map(from).reduce((a, b) => (Math.hypot(b[0], b[1]) > Math.hypot(a[0], a[1]) ? b : a));
  const length2 = far[0] ** 2 + far[1] ** 2;
  return ring.every((p) => {
    const [x, y] = from(p);
    return Math.abs(far[0] * y - far[1] * x) <= 1e-9 * length2;
  });
}

const side = (a: Position, b: Position, c: Position): number =>
  Math.sign((b[0]! - a[0]!) * (c[1]! - a[1]!) - (b[1]! - a[1]!) * (c[0]! - a[0]!));

const within = (a: Position, b: Position, c: Position): boolean =>
  Math.min(a[0]!, b[0]!) <= c[0]! &&
  c[0]! <= Math.max(a[0]!, b[0]!) &&
  Math.min(a[1]!, b[1]!) <= c[1]! &&
  c[1]! <= Math.max(a[1]!, b[1]!);

/** Whether two edges cross, or lie on each other along more than a point. A touch at an end is none. */
function edgesCross(a: Position, b: Position, c: Position, d: Position): boolean {
  const abc = side(a, b, c);
  const abd = side(a, b, d);
  const cda = side(c, d, a);
  const cdb = side(c, d, b);
  if (abc * abd < 0 && cda * cdb < 0) return true;
  if (abc !== 0 || abd !== 0) return false;
  // All on one line: they lie on each other when an end of one is strictly inside the other, or they are the same.
  const strictly = (p: Position, q: Position, r: Position) =>
    within(p, q, r) && !(r[0] === p[0] && r[1] === p[1]) && !(r[0] === q[0] && r[1] === q[1]);
  if (strictly(a, b, c) || strictly(a, b, d) || strictly(c, d, a) || strictly(c, d, b)) return true;
  const same = (p: Position, q: Position) => p[0] === q[0] && p[1] === q[1];
  return (same(a, c) && same(b, d)) || (same(a, d) && same(b, c));
}

/**
 * Where the edges of a polygon's rings cross each other or themselves: two edges that share no end of theirs in order.
 * @returns ring and edge indexes of the first crossing found, or null
 * Sweep along x; quick for rings as people draw them.
 */
export function firstCrossing(
  rings: readonly (readonly Position[])[],
): { ring: number; edge: number; otherRing: number; otherEdge: number; near: Position } | null {
  const edges: { ring: number; edge: number; a: Position; b: Position; lo: number; hi: number; last: number }[] = [];
  rings.forEach((ring, r) => {
    for (let i = 0; i + 1 < ring.length; i++) {
      const a = ring[i]!;
      const b = ring[i + 1]!;
      if (a[0] === b[0] && a[1] === b[1]) continue;
      edges.push({
        ring: r,
        edge: i,
        a,
        b,
        lo: Math.min(a[0]!, b[0]!),
        hi: Math.max(a[0]!, b[0]!),
        last: ring.length - 2,
      });
    }
  });
  edges.sort((p, q) => p.lo - q.lo || p.ring - q.ring || p.edge - q.edge);
  for (let i = 0; i < edges.length; i++) {
    const p = edges[i]!;
    for (let j = i + 1; j < edges.length && edges[j]!.lo <= p.hi; j++) {
      const q = edges[j]!;
      if (edgesCross(p.a, p.b, q.a, q.b))
        return { ring: p.ring, edge: p.edge, otherRing: q.ring, otherEdge: q.edge, near: p.a };
    }
  }
  return null;
}
