import type { RejectReason } from "../plan/outputs/types.ts";

export type PatternId = RejectReason | "unknown" | "short";

/**
 * One tile of each pattern, drawn pixel by pixel: `#` is ink. Map tiles, legend and print all repeat these same bits, so
 * that what the legend shows is what the map shows. Every pattern differs in shape, not in colour.
 */
const DRAWN: Record<PatternId, readonly string[]> = {
  footprint: ["........", ".######.", ".#....#.", ".#....#.", ".#....#.", ".#....#.", ".######.", "........"],
  slope: ["........", "........", "........", "########", "........", "........", "........", "........"],
  "keep-out": [
    "............",
    ".#.......#..",
    "..#.....#...",
    "...#...#....",
    "....#.#.....",
    ".....#......",
    "....#.#.....",
    "...#...#....",
    "..#.....#...",
    ".#.......#..",
    "............",
    "............",
  ],
  water: ["............", "..##....##..", ".#..#..#..#.", "#....##....#", "............", "............"],
  obstacle: ["#.....", ".#...#", "..#.#.", "...#..", "..#.#.", ".#...#"],
  "power-line": [".......#", "......#.", ".....#..", "....#...", "...#....", "..#.....", ".#......", "#......."],
  crowd: ["........", ".##.....", ".##.....", "........", "........", ".....##.", ".....##.", "........"],
  opening: ["#.......", ".#......", "..#.....", "...#....", "....#...", ".....#..", "......#.", ".......#"],
  sky: [
    "...#....",
    "...#....",
    "...#....",
    "...#....",
    "........",
    ".......#",
    ".......#",
    ".......#",
    ".......#",
    "........",
  ],
  unknown: [
    "..........",
    "...###....",
    "..#...#...",
    "......#...",
    ".....#....",
    "....#.....",
    "....#.....",
    "..........",
    "....#.....",
    "..........",
  ],
  short: [
    "...........#",
    "..........#.",
    ".........#..",
    "........#...",
    ".......#....",
    "......#.....",
    ".....#......",
    "....#.......",
    "...#........",
    "..#.........",
    ".#..........",
    "#...........",
  ],
};

export interface Bitmap {
  width: number;
  height: number;
  /** Row-major, 1 = ink. */
  bits: Uint8Array;
}

function read(rows: readonly string[]): Bitmap {
  const width = rows[0]!.length;
  const bits = Uint8Array.from(rows.join(""), (c) => (c === "#" ? 1 : 0));
  if (bits.length !== width * rows.length) throw new Error("rows of a pattern differ in length");
  return { width, height: rows.length, bits };
}

export const PATTERNS: Readonly<Record<PatternId, Bitmap>> = Object.freeze(
  Object.fromEntries(Object.entries(DRAWN).map(([id, rows]) => [id, read(rows)])) as Record<PatternId, Bitmap>,
);

/** Ink at a pixel of an endless sheet; x and y may be any whole numbers, negative included. */
export function inkAt(pattern: Bitmap, x: number, y: number): boolean {
  const px = ((x % pattern.width) + pattern.width) % pattern.width;
  const py = ((y % pattern.height) + pattern.height) % pattern.height;
  return pattern.bits[py * pattern.width + px] === 1;
}

/**
 * A swatch for a legend: the pattern's own pixels as one path.
 * @returns SVG text without styles, ids or scripts, so that it may be put inline many times
 */
export function swatch(pattern: Bitmap, ink: string, paper: string, width = 24, height = 16): string {
  let path = "";
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      if (!inkAt(pattern, x, y)) continue;
      let end = x + 1;
      while (end < width && inkAt(pattern, end, y)) end++;
      path += `M${x} ${y}h${end - x}v1h${x - end}z`;
      x = end;
    }
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" aria-hidden="true"><rect width="${width}" height="${height}" fill="${paper}"/><path fill="${ink}" d="${path}"/></svg>`;
}
