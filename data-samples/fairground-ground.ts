import type { Grid } from "../src/terrain/scene.ts";
import {
  inside,
  measureTo,
  rounded,
  type Spot,
  stampTrees,
  type Tree,
  toThirtySeconds,
  treesAlong,
  treesIn,
} from "./draw.ts";
import { box } from "./features.ts";
import { seeded, smoothNoise } from "./random.ts";

/**
 * Tamarack Flats: an invented fairground on the plains, 1.5 km a side. Coordinates below are metres east and north of
 * the south-west corner of the rasters.
 */
export const SIDE_M = 1500;
export const GRID: Grid = { westM: 0, northM: SIDE_M, cellM: 1, cols: SIDE_M, rows: SIDE_M };

export const CREEK: readonly Spot[] = rounded([
  [1520, 838],
  [1440, 790],
  [1375, 735],
  [1312, 641],
  [1210, 551],
  [1069, 487],
  [877, 452],
  [723, 398],
  [583, 372],
  [480, 353],
  [314, 308],
  [140, 262],
  [-20, 232],
]);
export const POWER_LINE: readonly Spot[] = [
  [-10, 450],
  [148, 482],
  [208, 500],
  [424, 552],
  [670, 631],
  [915, 704],
  [1092, 794],
  [1375, 931],
  [1510, 998],
];

export interface Building {
  id: string;
  name: string;
  ring: readonly Spot[];
  heightM: number;
  /** What the building file says of the height: the measured height, a count of floors, or nothing. */
  stated: "measured" | "floors" | "none";
  roof: "flat" | "gable";
}

const hall = (id: string, name: string, ring: Spot[], heightM: number, roof: Building["roof"] = "gable"): Building => ({
  id,
  name,
  ring,
  heightM,
  stated: "measured",
  roof,
});

const BOOTHS: readonly (readonly [number, number, number])[] = [
  [690, 602, 20],
  [715, 608, 5],
  [745, 604, -30],
  [683, 580, 10],
  [712, 586, -10],
  [738, 590, 30],
  [765, 606, -30],
  [800, 592, 0],
  [838, 588, -25],
  [690, 560, 15],
  [772, 582, 0],
  [802, 566, 5],
  [826, 556, -40],
  [720, 562, 0],
];

export const BUILDINGS: readonly Building[] = [
  hall("elevator", "Grain elevator", box(647, 700, 16, 15, 5), 46, "flat"),
  hall("grandstand", "Grandstand", box(837, 916, 146, 24, 6), 14, "flat"),
  hall("livestock", "Livestock barn", box(558, 694, 86, 30, -11), 9),
  hall("sheep", "Sheep barn", box(574, 648, 68, 24, -10), 8),
  hall("exhibit", "Exhibit hall", box(636, 1029, 64, 28, 6), 9),
  hall("crafts", "Crafts hall", box(715, 1037, 62, 30, 7), 8.5),
  hall("kitchen", "Kitchen", box(643, 979, 82, 22, 5), 6.5),
  { id: "office", name: "Fair office", ring: box(951, 931, 28, 22, 5), heightM: 6, stated: "floors", roof: "flat" },
  hall("store", "Machine store", box(1063, 1038, 38, 24, -5), 7),
  hall("pump", "Pump house", box(1095, 1001, 26, 20, -5), 5),
  { id: "hut", name: "Creek hut", ring: box(1283, 742, 14, 10, 20), heightM: 4, stated: "none", roof: "gable" },
  ...BOOTHS.map(([x, y, turn], k) => hall(`booth-${k + 1}`, `Booth ${k + 1}`, box(x, y, 15, 10, turn), 3.5)),
];

const bump = (x: number, y: number, cx: number, cy: number, sigma: number): number =>
  Math.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * sigma * sigma));
const ease = (t: number): number => {
  const u = Math.min(1, Math.max(0, t));
  return u * u * (3 - 2 * u);
};

/** Bare earth, m above sea level. */
function groundHeights(seed: number): Float32Array {
  const toCreek = measureTo(CREEK);
  const rolls = smoothNoise(seed + 1, 170);
  const dips = smoothNoise(seed + 2, 38);
  const tufts = smoothNoise(seed + 5, 9);
  const out = new Float32Array(GRID.cols * GRID.rows);
  for (let r = 0; r < GRID.rows; r++)
    for (let c = 0; c < GRID.cols; c++) {
      const [x, y] = [c + 0.5, SIDE_M - r - 0.5];
      const creek = toCreek(x, y);
      const bed = 427.5 - 11 * creek.along;
      // The creek runs east to west: north of it lie the flats, south of it a steeper, higher side.
      const north = !creek.left;
      const flats = 436 + 0.002 * (y - 760) + 7.5 * bump(x, y, 90, 1380, 260) + 4 * bump(x, y, 1150, 1420, 200);
      const south = 441 + 9 * ease((creek.distanceM - 60) / 260);
      const bank = ease((creek.distanceM - 9) / (north ? 190 : 150));
      let z = bed + ((north ? flats : south) - bed) * bank;
      z += bank * (0.7 * rolls(x, y) + 0.12 * dips(x, y) + 0.04 * tufts(x, y));
      // An old spoil heap at the corner of the east parking and a swale across the west field.
      z += 3.4 * bump(x, y, 1318, 872, 13);
      z -=
        0.9 *
        Math.exp(-(((x - 205) * 0.94 + (y - 830) * 0.34) ** 2) / (2 * 7 * 7)) *
        ease((y - 700) / 40) *
        ease((1010 - y) / 60);
      out[r * GRID.cols + c] = z;
    }
  return out;
}

function trees(seed: number): Tree[] {
  const random = seeded(seed + 3);
  const roadGap = (x: number, y: number) => Math.abs(y - 838) < 11 && Math.abs(x - 471) < 20;
  const built = (x: number, y: number) =>
    BUILDINGS.some((b) => b.ring.some(([bx, by]) => Math.hypot(bx - x, by - y) < 14));
  const bankSide = (off: number): Spot[] => CREEK.map(([x, y]) => [x + off * 0.25, y + off]);
  return [
    ...treesAlong(
      [
        [474, 1100],
        [468, 990],
        [476, 880],
        [470, 768],
      ],
      random,
      { everyM: 6, wideM: 4, heightM: [10, 15], skip: roadGap },
    ),
    ...treesAlong(
      [
        [166, 672],
        [236, 662],
        [310, 669],
        [382, 705],
        [432, 742],
      ],
      random,
      { everyM: 6.5, wideM: 4, heightM: [8, 13] },
    ),
    ...treesAlong(
      [
        [992, 784],
        [1010, 692],
        [1020, 596],
      ],
      random,
      { everyM: 6, wideM: 3.5, heightM: [10, 14] },
    ),
    ...treesAlong(bankSide(14), random, { everyM: 9, wideM: 9, heightM: [8, 19] }),
    ...treesAlong(bankSide(-15), random, { everyM: 10, wideM: 10, heightM: [8, 19] }),
    ...treesIn([60, 1230, 420, 1490], 260, random, [8, 16]),
    ...treesIn([1230, 1330, 1490, 1490], 60, random, [7, 14]),
    ...treesIn([0, 0, 1500, 200], 150, random, [6, 14]),
    ...treesIn([520, 860, 1000, 1300], 14, random, [6, 11]).filter((t) => !built(t.x, t.y)),
  ];
}

/** Height of a roof above its building's foot: flat, or falling to four fifths at the long edges. */
function roofHeight(b: Building, x: number, y: number): number {
  if (b.roof === "flat") return b.heightM;
  const [a, n] = [b.ring[0]!, b.ring[1]!];
  const long = Math.hypot(n[0] - a[0], n[1] - a[1]);
  const wide = Math.hypot(b.ring[3]![0] - a[0], b.ring[3]![1] - a[1]);
  const across = Math.abs((n[0] - a[0]) * (y - a[1]) - (n[1] - a[1]) * (x - a[0])) / long;
  return b.heightM * (0.8 + 0.2 * (1 - Math.abs((2 * across) / wide - 1)));
}

export interface Layers {
  ground: Float32Array;
  surface: Float32Array;
  canopy: Float32Array;
}

/** The three rasters. The same seed gives the same cells. */
export function fairgroundLayers(seed: number): Layers {
  const ground = toThirtySeconds(groundHeights(seed));
  const canopy = new Float32Array(ground.length);
  stampTrees(canopy, GRID, trees(seed), seeded(seed + 4));
  const roofs = new Float32Array(ground.length).fill(Number.NEGATIVE_INFINITY);
  for (const b of BUILDINGS) {
    const cells = inside(GRID, b.ring);
    const foot = Float64Array.from(cells, (i) => ground[i]!).sort()[cells.length >> 1]!;
    for (const i of cells) {
      roofs[i] = foot + roofHeight(b, (i % SIDE_M) + 0.5, SIDE_M - Math.floor(i / SIDE_M) - 0.5);
      canopy[i] = 0;
    }
  }
  const low = toThirtySeconds(canopy).map((h) => (h < 1 ? 0 : h));
  const surface = ground.map((z, i) => Math.max(z + low[i]!, roofs[i]!));
  return { ground, surface: toThirtySeconds(surface), canopy: low };
}
