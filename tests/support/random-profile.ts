import type { RadioProfile } from "../../src/propagation/index.ts";

/** Seeded uniform numbers in [0, 1). */
export function seeded(seed: number): () => number {
  let s = seed >>> 0;
  return () => {
    s = (s + 0x6d2b79f5) >>> 0;
    let t = s;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Room for one profile, filled again and again without allocating. */
export function profileRoom(most: number): RadioProfile {
  return {
    distancesKm: new Float64Array(most),
    groundM: new Float64Array(most),
    obstacleM: new Float64Array(most),
    n: 0,
  };
}

export interface RandomOptions {
  points?: [number, number];
  /** Path length, km, drawn evenly in its logarithm. */
  lengthKm: [number, number];
  /** Equal steps (as the irregular terrain model wants them) or any. */
  equalSteps?: boolean;
  obstacles?: boolean;
}

/** Ground of five kinds: flat, rolling, rough, one ridge, a slope; with walls and trees on it when asked for. */
export function fillRandom(room: RadioProfile, random: () => number, options: RandomOptions): RadioProfile {
  const [low, high] = options.points ?? [2, 120];
  const n = low + Math.floor(random() * (high - low + 1));
  const [short, long] = options.lengthKm;
  const D = short * (long / short) ** random();
  const { distancesKm: d, groundM: g, obstacleM: o } = room;
  d[0] = 0;
  if (options.equalSteps) for (let i = 1; i < n; i++) d[i] = (D * i) / (n - 1);
  else {
    for (let i = 1; i < n; i++) d[i] = d[i - 1]! + 0.05 + random();
    const scale = D / d[n - 1]!;
    for (let i = 1; i < n; i++) d[i] = d[i]! * scale;
  }
  const kind = Math.floor(random() * 5);
  const base = random() < 0.2 ? random() * 4000 : random() * 300;
  const relief = 10 ** (random() * 3);
  const a = random() * 6;
  const waves = 1 + random() * 8;
  const ridge = random();
  for (let i = 0; i < n; i++) {
    const u = d[i]! / D;
    let h = base;
    if (kind === 1) h += relief * Math.sin(a + waves * u);
    else if (kind === 2) h += relief * (random() - 0.5);
    else if (kind === 3) h += relief * Math.exp(-(((u - ridge) * 12) ** 2));
    else if (kind === 4) h += relief * u;
    g[i] = h;
    o[i] = options.obstacles && random() < 0.2 ? h + random() * 40 : h;
  }
  room.n = n;
  return room;
}

/** The same path walked from the other end. */
export function reversed(p: RadioProfile): RadioProfile {
  const { n } = p;
  const D = p.distancesKm[n - 1]!;
  return {
    distancesKm: Float64Array.from({ length: n }, (_, i) => D - p.distancesKm[n - 1 - i]!),
    groundM: Float64Array.from({ length: n }, (_, i) => p.groundM[n - 1 - i]!),
    obstacleM: Float64Array.from({ length: n }, (_, i) => p.obstacleM[n - 1 - i]!),
    n,
  };
}
