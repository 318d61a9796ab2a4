import type { LocalFrame } from "../../../src/geodesy/types.ts";
import type { Theme } from "../../../src/plan/http.ts";
import { REJECT_REASONS } from "../../../src/plan/outputs/index.ts";
import { type ColorTable, classOf, PATTERN_COLORS, rgb } from "../../../src/report/color-tables.ts";
import { type Bitmap, inkAt, PATTERNS } from "../../../src/report/patterns.ts";
import type { Grid } from "../../../src/terrain/scene.ts";
import { REASON_UNKNOWN } from "../../engine.ts";
import { encodePng } from "./png.ts";
import { TILE, tileCells } from "./tile-grid.ts";

export interface Painted {
  frame: LocalFrame;
  grid: Grid;
  values: Float32Array;
  /** Reason per cell as in a suitability surface; null where only values are painted. */
  reasons: Uint8Array | null;
  table: ColorTable;
  theme: Theme;
}

const CLEAR = 0;
const INK = 1;
const PAPER = 2;
const UNKNOWN_INK = 3;
const UNKNOWN_PAPER = 4;
const FIRST_CLASS = 5;

function paletteOf(table: ColorTable, theme: Theme): [number, number, number, number][] {
  const solid = (color: string): [number, number, number, number] => [...rgb(color), 255];
  const { ink, paper, unknownInk, unknownPaper } = PATTERN_COLORS[theme];
  return [[0, 0, 0, 0], ...[ink, paper, unknownInk, unknownPaper, ...table.colors[theme]].map(solid)];
}

const REASON_PATTERNS: readonly Bitmap[] = REJECT_REASONS.map((reason) => PATTERNS[reason]);

/**
 * A tile of computed values in their classes: each pixel takes the cell it lies in, never a mixture of cells. Struck-out
 * and unknown ground bears its pattern, drawn in pixels of the whole map so that it runs on from tile to tile.
 * @returns PNG; null when the tile lies outside the grid
 */
export async function valueTile(what: Painted, z: number, x: number, y: number): Promise<Buffer | null> {
  const { grid, values, reasons, table } = what;
  const cells = tileCells(what.frame, grid, z, x, y);
  if (cells === null) return null;
  const pixels = new Uint8Array(TILE * TILE);
  for (let k = 0; k < pixels.length; k++) {
    const col = Math.round(cells.cols[k]!);
    const row = Math.round(cells.rows[k]!);
    if (!(col >= 0 && row >= 0 && col < grid.cols && row < grid.rows)) continue;
    const at = row * grid.cols + col;
    const px = x * TILE + (k % TILE);
    const py = y * TILE + Math.floor(k / TILE);
    const reason = reasons === null ? 0 : reasons[at]!;
    if (reason === REASON_UNKNOWN) {
      pixels[k] = inkAt(PATTERNS.unknown, px, py) ? UNKNOWN_INK : UNKNOWN_PAPER;
      continue;
    }
    if (reason > 0) {
      pixels[k] = inkAt(REASON_PATTERNS[reason - 1] ?? PATTERNS.unknown, px, py) ? INK : PAPER;
      continue;
    }
    const value = values[at]! * (table.valueScale ?? 1);
    const k2 = classOf(table, value);
    if (k2 < table.paintedFrom) {
      pixels[k] = CLEAR;
      continue;
    }
    const short = table.hatchedBelow !== null && value < table.hatchedBelow && inkAt(PATTERNS.short, px, py);
    pixels[k] = short ? INK : FIRST_CLASS + k2;
  }
  return encodePng({ kind: "palette", width: TILE, height: TILE, pixels, palette: paletteOf(table, what.theme) });
}
