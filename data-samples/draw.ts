import { footprintCells } from "../src/terrain/footprint.ts";
import type { Grid } from "../src/terrain/scene.ts";

export type Spot = readonly [x: number, y: number];

/** How a spot lies to a line: distance, m; how far along the nearest place is (0 to 1); whether on its left. */
export type Measure = (x: number, y: number) => { distanceM: number; along: number; left: boolean };

/** Measures spots against a line of spots. */
export function measureTo(line: readonly Spot[]): Measure {
  const lengths = line.slice(1).map((b, i) => Math.hypot(b[0] - line[i]![0], b[1] - line[i]![1]));
  const total = lengths.reduce((a, b) => a + b, 0);
  const starts = lengths.map((_, i) => lengths.slice(0, i).reduce((a, b) => a + b, 0));
  const xs = Float64Array.from(line, (p) => p[0]);
  const ys = Float64Array.from(line, (p) => p[1]);
  return (x, y) => {
    let least = Number.POSITIVE_INFINITY;
    let nearest = 0;
    let part = 0;
    for (let i = 0; i + 1 < xs.length; i++) {
      const ux = xs[i + 1]! - xs[i]!;
      const uy = ys[i + 1]! - ys[i]!;
      let t = ((x - xs[i]!) * ux + (y - ys[i]!) * uy) / (ux * ux + uy * uy);
      t = Math.min(1, Math.max(0, t));
      const dx = x - xs[i]! - t * ux;
      const dy = y - ys[i]! - t * uy;
      const d2 = dx * dx + dy * dy;
      if (d2 < least) {
        least = d2;
        nearest = i;
        part = t;
      }
    }
    const [a, b] = [line[nearest]!, line[nearest + 1]!];
    return {
      distanceM: Math.sqrt(least),
      along: (starts[nearest]! + part * lengths[nearest]!) / total,
      left: (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0]) > 0,
    };
  };
}

/** The same line with rounded bends: a Catmull–Rom curve through its spots, `parts` pieces to each stretch. */
export function rounded(line: readonly Spot[], parts = 8): Spot[] {
  const at = (i: number): Spot => line[Math.min(line.length - 1, Math.max(0, i))]!;
  const out: Spot[] = [];
  for (let i = 0; i + 1 < line.length; i++)
    for (let k = 0; k < parts; k++) {
      const t = k / parts;
      const mix = (a: number, b: number, c: number, d: number): number =>
        0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t * t + (3 * b - a - 3 * c + d) * t ** 3);
      const [p, q, r, s] = [at(i - 1), at(i), at(i + 1), at(i + 2)];
      out.push([mix(p[0], q[0], r[0], s[0]), mix(p[1], q[1], r[1], s[1])]);
    }
  return [...out, line[line.length - 1]!];
}

export interface Tree {
  x: number;
  y: number;
  heightM: number;
  crownM: number;
}

/** Trees along a line: one about every `everyM`, off it by up to `wideM`, with gaps left where `skip` says so. */
export function treesAlong(
  line: readonly Spot[],
  random: () => number,
  o: { everyM: number; wideM: number; heightM: [number, number]; skip?: (x: number, y: number) => boolean },
): Tree[] {
  const trees: Tree[] = [];
  for (let i = 0; i + 1 < line.length; i++) {
    const [ax, ay] = line[i]!;
    const [bx, by] = line[i + 1]!;
    const length = Math.hypot(bx - ax, by - ay);
    for (let s = random() * o.everyM; s < length; s += o.everyM * (0.6 + 0.8 * random())) {
      const off = (random() * 2 - 1) * o.wideM;
      const [ux, uy] = [(bx - ax) / length, (by - ay) / length];
      const heightM = o.heightM[0] + random() * (o.heightM[1] - o.heightM[0]);
      const tree = {
        x: ax + ux * s - uy * off,
        y: ay + uy * s + ux * off,
        heightM,
        crownM: heightM * (0.28 + 0.1 * random()),
      };
      if (o.skip?.(tree.x, tree.y) !== true) trees.push(tree);
    }
  }
  return trees;
}

/** Trees at random in a box. */
export function treesIn(
  box: readonly [number, number, number, number],
  count: number,
  random: () => number,
  heightM: [number, number],
): Tree[] {
  return Array.from({ length: count }, () => {
    const h = heightM[0] + random() * (heightM[1] - heightM[0]);
    return {
      x: box[0] + random() * (box[2] - box[0]),
      y: box[1] + random() * (box[3] - box[1]),
      heightM: h,
      crownM: h * (0.28 + 0.1 * random()),
    };
  });
}

/** Stamps crowns, rounded and a little ragged, into a canopy of heights above ground. */
export function stampTrees(canopy: Float32Array, grid: Grid, trees: readonly Tree[], random: () => number): void {
  for (const t of trees) {
    const c0 = Math.max(0, Math.floor((t.x - t.crownM - grid.westM) / grid.cellM));
    const c1 = Math.min(grid.cols - 1, Math.ceil((t.x + t.crownM - grid.westM) / grid.cellM));
    const r0 = Math.max(0, Math.floor((grid.northM - t.y - t.crownM) / grid.cellM));
    const r1 = Math.min(grid.rows - 1, Math.ceil((grid.northM - t.y + t.crownM) / grid.cellM));
    for (let r = r0; r <= r1; r++)
      for (let c = c0; c <= c1; c++) {
        const x = grid.westM + (c + 0.5) * grid.cellM;
        const y = grid.northM - (r + 0.5) * grid.cellM;
        const d = Math.hypot(x - t.x, y - t.y) / t.crownM;
        if (d >= 1) continue;
        const h = t.heightM * (0.45 + 0.55 * Math.sqrt(1 - d * d)) - random() * 0.8;
        const i = r * grid.cols + c;
        if (h > canopy[i]!) canopy[i] = h;
      }
  }
}

/** Cells inside a ring of spots. */
export const inside = (grid: Grid, ring: readonly Spot[]): Uint32Array =>
  footprintCells(grid, [[[...ring, ring[0]!].map(([x, y]): [number, number] => [x, y])]]);

/** Heights kept to 1/32 m: finer than any survey, and it packs well. */
export function toThirtySeconds(values: Float32Array): Float32Array {
  return values.map((z) => Math.round(z * 32) / 32);
}
