import { encode } from "fast-png";
import { groundM, inside, PARKING, type Place, reasonAt, scoreAt, toPlace } from "./mock-scene.ts";

const SIDE = 256;
const lngOf = (x: number, z: number): number => (x / 2 ** z) * 360 - 180;
const latOf = (y: number, z: number): number => {
  const n = Math.PI - (2 * Math.PI * y) / 2 ** z;
  return (180 / Math.PI) * Math.atan(Math.sinh(n));
};
const placeOf = (z: number, x: number, y: number, px: number, py: number): Place =>
  toPlace(lngOf(x + (px + 0.5) / SIDE, z), latOf(y + (py + 0.5) / SIDE, z));
const png = (data: Uint8Array): Uint8Array => encode({ width: SIDE, height: SIDE, data, channels: 4, depth: 8 });
const out = (p: Place): boolean => Math.abs(p[0]) > 900 || Math.abs(p[1]) > 800;

/** Samples a function on every fourth pixel: tests wait for tiles, so tiles are cheap. */
function coarse(z: number, x: number, y: number, f: (p: Place) => number): Float64Array {
  const n = SIDE / 4;
  const out = new Float64Array(n * n);
  for (let j = 0; j < n; j++)
    for (let i = 0; i < n; i++) out[j * n + i] = f(placeOf(z, x, y, i * 4 + 1.5, j * 4 + 1.5));
  return out;
}
const at4 = (i: number): number => Math.floor(Math.floor(i / SIDE) / 4) * (SIDE / 4) + Math.floor((i % SIDE) / 4);

export function terrainTile(z: number, x: number, y: number): Uint8Array {
  const data = new Uint8Array(SIDE * SIDE * 4);
  const heights = coarse(z, x, y, groundM);
  for (let i = 0; i < SIDE * SIDE; i++) {
    const h = heights[at4(i)]! + 32768;
    data[i * 4] = Math.floor(h / 256);
    data[i * 4 + 1] = Math.floor(h % 256);
    data[i * 4 + 2] = Math.floor((h % 1) * 256);
    data[i * 4 + 3] = 255;
  }
  return png(data);
}

export function hillshadeTile(z: number, x: number, y: number): Uint8Array {
  const data = new Uint8Array(SIDE * SIDE * 4);
  const shade = coarse(z, x, y, (p) => {
    if (out(p)) return -1;
    const dx = (groundM([p[0] + 3, p[1]]) - groundM([p[0] - 3, p[1]])) / 6;
    const dy = (groundM([p[0], p[1] + 3]) - groundM([p[0], p[1] - 3])) / 6;
    return Math.max(0, Math.min(1, 0.72 + 1.6 * (dx - dy)));
  });
  for (let i = 0; i < SIDE * SIDE; i++) {
    const s = shade[at4(i)]!;
    if (s < 0) continue;
    data[i * 4] = data[i * 4 + 1] = data[i * 4 + 2] = Math.round(255 * s);
    data[i * 4 + 3] = 255;
  }
  return png(data);
}

const DAY = ["#FBF6DB", "#DFE4A3", "#89C88D", "#27A7A9", "#2377A9", "#2A477F"];
export const ramp = (theme: string): string[] => (theme === "night" ? [...DAY].reverse() : DAY);
export const EDGES = [75, 80, 85, 90, 95];
const rgb = (hex: string): [number, number, number] =>
  [1, 3, 5].map((i) => Number.parseInt(hex.slice(i, i + 2), 16)) as [number, number, number];

const CELL = 12;
/** Shared by all tiles: the stand-in score is slow to work out. */
const cache = new Map<string, [number, number, number] | "line" | "steep" | "object">();
export function valueTile(layer: string, theme: string, z: number, x: number, y: number): Uint8Array {
  const data = new Uint8Array(SIDE * SIDE * 4);
  const colors = ramp(theme).map(rgb);
  for (let i = 0; i < SIDE * SIDE; i++) {
    const px = i % SIDE;
    const py = Math.floor(i / SIDE);
    const p = placeOf(z, x, y, px, py);
    const cell: Place = [Math.round(p[0] / CELL) * CELL, Math.round(p[1] / CELL) * CELL];
    if (layer === "value" ? out(p) : !PARKING.some((a) => inside(p, a.ring))) continue;
    const key = `${layer},${theme},${cell[0]},${cell[1]}`;
    let c = cache.get(key);
    if (c === undefined) {
      const reason = layer === "score" ? reasonAt(cell) : null;
      const s = layer === "score" ? scoreAt(cell) : 100 - Math.hypot(cell[0], cell[1]) / 14;
      c =
        reason === "power-line"
          ? "line"
          : reason === "slope"
            ? "steep"
            : reason === "obstacle"
              ? "object"
              : colors[EDGES.filter((e) => s >= e).length]!;
      cache.set(key, c);
    }
    const ink = theme === "night" ? 230 : 30;
    if (typeof c === "string") {
      const on =
        c === "line"
          ? (px + py) % 8 < 1.5
          : c === "steep"
            ? py % 7 < 1.3
            : (px + py) % 7 < 1 || (px - py + 700) % 7 < 1;
      data.set(on ? [ink, ink, ink, 255] : [255 - ink, 255 - ink, 255 - ink, 120], i * 4);
    } else data.set([...c, 255], i * 4);
  }
  return png(data);
}
