/** An invented fairground for client tests: places in metres round an origin, and closed-form stand-ins for results. */
export const ORIGIN = { lng: -98.4977, lat: 41.6381 };
const M_LAT = 111_320;
const M_LNG = M_LAT * Math.cos((ORIGIN.lat * Math.PI) / 180);
export type Place = [xM: number, yM: number];

export const toLngLat = ([x, y]: Place): [number, number] => [ORIGIN.lng + x / M_LNG, ORIGIN.lat + y / M_LAT];
export const toPlace = (lng: number, lat: number): Place => [(lng - ORIGIN.lng) * M_LNG, (lat - ORIGIN.lat) * M_LAT];

/** Drawing coordinates of a 957 × 790 sheet to metres. */
const at = (px: number, py: number): Place => [(px - 806) * 1.325, (448 - py) * 1.325];

export interface ScenePoint {
  id: string;
  code: string;
  name: string;
  rung: "must" | "should" | "nice";
  place: Place;
  ring?: Place[];
  people: "outdoor" | "tent" | "vehicle" | "indoor-traditional";
}
const point = (
  code: string,
  name: string,
  rung: ScenePoint["rung"],
  px: number,
  py: number,
  people: ScenePoint["people"],
) => ({ id: code.toLowerCase(), code, name, rung, place: at(px, py), people }) as ScenePoint;

export const POINTS: ScenePoint[] = [
  point("CP", "Command post", "must", 857, 306, "vehicle"),
  point("MD", "Medical tent", "must", 1071, 365, "tent"),
  point("G1", "Gate 1", "must", 645, 387, "outdoor"),
  {
    ...point("SA", "Staging A", "must", 1212, 530, "vehicle"),
    ring: [at(1153, 492), at(1267, 484), at(1280, 550), at(1218, 577), at(1158, 570)],
  },
  point("GR", "Grandstand seats", "should", 969, 343, "outdoor"),
  point("LB", "Livestock barn", "should", 748, 487, "indoor-traditional"),
  point("MW", "Midway", "should", 909, 586, "outdoor"),
  point("G2", "Gate 2", "should", 1126, 213, "outdoor"),
  {
    ...point("SB", "Staging B", "should", 522, 613, "vehicle"),
    ring: [at(454, 572), at(578, 563), at(590, 653), at(470, 664)],
  },
  point("LC", "Lost children", "should", 823, 372, "tent"),
  point("SH", "Shuttle stop", "nice", 578, 237, "outdoor"),
  point("CX", "Creek crossing", "nice", 1259, 594, "outdoor"),
  point("RL", "Ridge lookout", "nice", 465, 135, "outdoor"),
  point("FU", "Fuel point", "nice", 706, 691, "vehicle"),
];

export const PARKING: { id: string; name: string; ring: Place[] }[] = [
  { id: "west", name: "West Field", ring: [at(457, 274), at(650, 265), at(660, 432), at(556, 503), at(450, 492)] },
  { id: "barn", name: "Barn Yard", ring: [at(803, 428), at(863, 423), at(868, 471), at(812, 477)] },
  {
    id: "east",
    name: "East Apron",
    ring: [at(1184, 291), at(1338, 276), at(1362, 365), at(1300, 432), at(1172, 441), at(1156, 358)],
  },
];

const box = (px: number, py: number, w: number, h: number, tilt = 0): Place[] => {
  const c = Math.cos(tilt);
  const s = Math.sin(tilt);
  return [
    [-w / 2, -h / 2],
    [w / 2, -h / 2],
    [w / 2, h / 2],
    [-w / 2, h / 2],
  ].map(([dx, dy]) => at(px + dx! * c - dy! * s, py + dx! * s + dy! * c));
};
export const BUILDINGS: { id: string; name?: string; heightM: number; ring: Place[] }[] = [
  { id: "grandstand", name: "Grandstand", heightM: 14, ring: box(966, 326, 112, 22, -0.1) },
  { id: "elevator", name: "Grain elevator", heightM: 46, ring: box(822, 494, 11, 11, 0.1) },
  { id: "barn-1", name: "Livestock barn", heightM: 9, ring: box(750, 491, 66, 28, 0.12) },
  { id: "barn-2", heightM: 8, ring: box(763, 532, 52, 20, 0.15) },
  { id: "hall-a", name: "Hall A", heightM: 10, ring: box(811, 237, 50, 25, -0.08) },
  { id: "hall-b", heightM: 9, ring: box(873, 230, 49, 24, -0.08) },
  { id: "hall-c", heightM: 8, ring: box(817, 276, 62, 20, -0.08) },
  { id: "shed-1", heightM: 5, ring: box(1058, 315, 23, 18, -0.08) },
  { id: "shed-2", heightM: 5, ring: box(1146, 237, 30, 18, 0.05) },
  { id: "shed-3", heightM: 4, ring: box(1172, 265, 20, 14, 0.08) },
];
export const LINE: Place[] = [at(432, 664), at(660, 613), at(1030, 493), at(1250, 380), at(1389, 315)];
export const CROWD: Place[] = [at(910, 356), at(1025, 347), at(1032, 400), at(917, 411)];
export const CREEK: Place[] = [
  at(570, 855),
  at(700, 790),
  at(800, 740),
  at(1000, 685),
  at(1130, 645),
  at(1260, 600),
  at(1389, 500),
];
export const TREES: { place: Place; radiusM: number }[] = [];
{
  let seed = 7;
  const random = (): number => {
    seed = (seed * 16807) % 2147483647;
    return seed / 2147483647;
  };
  const belt = (a: Place, b: Place, n: number, spread: number): void => {
    for (let i = 0; i < n; i++) {
      const t = (i + random()) / n;
      TREES.push({
        place: [
          a[0] + (b[0] - a[0]) * t + (random() - 0.5) * spread,
          a[1] + (b[1] - a[1]) * t + (random() - 0.5) * spread,
        ],
        radiusM: 5 + random() * 4,
      });
    }
  };
  belt(at(684, 190), at(690, 440), 36, 10);
  belt(at(445, 508), at(655, 450), 26, 10);
  belt(at(1088, 430), at(1112, 580), 18, 10);
  belt(at(600, 830), at(1000, 690), 26, 24);
  belt(at(1000, 690), at(1380, 510), 26, 24);
  belt(at(450, 60), at(640, 110), 14, 60);
}

/** Ground height, m AMSL: gentle swells and a creek valley. */
export function groundM([x, y]: Place): number {
  let d = Number.POSITIVE_INFINITY;
  for (let i = 1; i < CREEK.length; i++) d = Math.min(d, distanceToSegment([x, y], CREEK[i - 1]!, CREEK[i]!));
  const swell = 2.2 * Math.sin(x / 170) * Math.cos(y / 210) + 1.4 * Math.sin((x + y) / 90) + 0.006 * y;
  const south = y < -420 ? 12 * Math.min(1, (-y - 420) / 300) : 0;
  return 436 + swell - 15 * Math.exp(-((d / 130) ** 2)) + south;
}

export function distanceToSegment(p: Place, a: Place, b: Place): number {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const t = Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy);
}
export function inside(p: Place, ring: Place[]): boolean {
  let hit = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const a = ring[i]!;
    const b = ring[j]!;
    if (a[1] > p[1] !== b[1] > p[1] && p[0] < ((b[0] - a[0]) * (p[1] - a[1])) / (b[1] - a[1]) + a[0]) hit = !hit;
  }
  return hit;
}
export const lineDistanceM = (p: Place): number => {
  let d = Number.POSITIVE_INFINITY;
  for (let i = 1; i < LINE.length; i++) d = Math.min(d, distanceToSegment(p, LINE[i - 1]!, LINE[i]!));
  return d;
};
/** What stands on the ground at a place. */
export function standingM(p: Place): {
  heightM: number;
  kind: "building" | "tree" | "none";
  id: string | null;
  name: string;
} {
  for (const b of BUILDINGS)
    if (inside(p, b.ring)) return { heightM: b.heightM, kind: "building", id: b.id, name: b.name ?? "Building" };
  for (const t of TREES)
    if (Math.hypot(p[0] - t.place[0], p[1] - t.place[1]) < t.radiusM)
      return { heightM: 12, kind: "tree", id: null, name: "Trees" };
  return { heightM: 0, kind: "none", id: null, name: "" };
}

/** Stand-in for a chance of service, 0…1: falls with distance and with what stands on the way. */
export function chance(spot: Place, target: ScenePoint): { p: number; lossDb: number; block: string; los: boolean } {
  const d = Math.max(15, Math.hypot(spot[0] - target.place[0], spot[1] - target.place[1]));
  let trees = 0;
  let wall = 0;
  let block = "";
  const n = Math.ceil(d / 5);
  for (let i = 1; i < n; i++) {
    const t = i / n;
    const q: Place = [spot[0] + (target.place[0] - spot[0]) * t, spot[1] + (target.place[1] - spot[1]) * t];
    const s = standingM(q);
    const line = 6 + (1.5 - 6) * t;
    if (s.kind === "building" && s.heightM > line) {
      wall = Math.max(wall, 6 + s.heightM * 0.35);
      block = `${s.name}, ${Math.round(i * (d / n))} m out`;
    } else if (s.kind === "tree" && trees < 20) {
      trees += 2.2;
      if (block === "") block = "Trees";
    }
  }
  const entry = target.people === "vehicle" ? 8 : target.people === "indoor-traditional" ? 14 : 2;
  const lossDb = 36 + 30 * Math.log10(d) + wall + trees;
  const z = (147 - lossDb - entry) / 7.5;
  return { p: phi(z), lossDb, block, los: wall === 0 && trees === 0 };
}
/** Normal distribution, after Abramowitz & Stegun (1964) 26.2.17. */
export function phi(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z >= 0 ? 1 - tail : tail;
}
const WEIGHT = { must: 4, should: 2, nice: 1 };
export function scoreAt(p: Place): number {
  let sum = 0;
  let of = 0;
  for (const t of POINTS) {
    sum += WEIGHT[t.rung] * chance(p, t).p;
    of += WEIGHT[t.rung];
  }
  return (100 * sum) / of;
}
/** Why a place is struck out, or null. */
export function reasonAt(p: Place): "power-line" | "slope" | "obstacle" | null {
  if (lineDistanceM(p) < 24) return "power-line";
  const e = 4;
  const slope =
    Math.hypot(
      groundM([p[0] + e, p[1]]) - groundM([p[0] - e, p[1]]),
      groundM([p[0], p[1] + e]) - groundM([p[0], p[1] - e]),
    ) /
    (2 * e);
  if (slope > Math.tan((3.4 * Math.PI) / 180)) return "slope";
  if (TREES.some((t) => Math.hypot(p[0] - t.place[0], p[1] - t.place[1]) < 14)) return "obstacle";
  return null;
}
export const SPOTS: { name: string; place: Place; parking: string }[] = [
  { name: "Barn Yard, west", place: at(809, 450), parking: "barn" },
  { name: "Barn Yard, east", place: at(862, 458), parking: "barn" },
  { name: "East Apron, north", place: at(1231, 312), parking: "east" },
  { name: "West Field, east", place: at(588, 372), parking: "west" },
  { name: "West Field, gate side", place: at(636, 345), parking: "west" },
  { name: "East Apron, far east", place: at(1318, 300), parking: "east" },
  { name: "East Apron, west edge", place: at(1166, 350), parking: "east" },
  { name: "West Field, south-east", place: at(640, 430), parking: "west" },
  { name: "West Field, middle", place: at(521, 370), parking: "west" },
];
