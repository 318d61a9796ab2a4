import type { XY } from "../geodesy/types.ts";
import { insideAny, type Polygon } from "./plane.ts";

/** A square tile of an area, or a stretch of a route, with the nine places its probability is the median of. */
export interface Tile {
  xM: number;
  yM: number;
  sideM: number;
  places: XY[];
}

const OFFSETS = [-1 / 3, 0, 1 / 3];

/**
 * Squares of one side from the south-west corner of the area's box; those whose centre is inside the area count.
 * An area smaller than one tile becomes a single tile at the box's middle. Nine samples at ± side/3 (equal-tile method of TIA TSB-88).
 */
export function areaTiles(polygons: readonly Polygon[], sideM: number): Tile[] {
  let west = Number.POSITIVE_INFINITY;
  let south = Number.POSITIVE_INFINITY;
  let east = Number.NEGATIVE_INFINITY;
  let north = Number.NEGATIVE_INFINITY;
  for (const polygon of polygons)
    for (const [x, y] of polygon[0] ?? []) {
      west = Math.min(west, x);
      east = Math.max(east, x);
      south = Math.min(south, y);
      north = Math.max(north, y);
    }
  const tiles: Tile[] = [];
  const cols = Math.max(1, Math.ceil((east - west) / sideM));
  const rows = Math.max(1, Math.ceil((north - south) / sideM));
  for (let row = 0; row < rows; row++)
    for (let col = 0; col < cols; col++) {
      const xM = west + (col + 0.5) * sideM;
      const yM = south + (row + 0.5) * sideM;
      if (insideAny({ xM, yM }, polygons)) tiles.push(square(xM, yM, sideM));
    }
  return tiles.length > 0
    ? tiles
    : [square((west + east) / 2, (south + north) / 2, Math.min(sideM, east - west, north - south))];
}

function square(xM: number, yM: number, sideM: number): Tile {
  return {
    xM,
    yM,
    sideM,
    places: OFFSETS.flatMap((dy) => OFFSETS.map((dx) => ({ xM: xM + dx * sideM, yM: yM + dy * sideM }))),
  };
}

/** Stretches of equal length along a route, each about one tile side long, with nine places evenly along it. */
export function routeTiles(line: readonly (readonly [number, number])[], sideM: number): Tile[] {
  const lengths: number[] = [0];
  for (let i = 1; i < line.length; i++)
    lengths.push(lengths[i - 1]! + Math.hypot(line[i]![0] - line[i - 1]![0], line[i]![1] - line[i - 1]![1]));
  const total = lengths.at(-1)!;
  const at = (s: number): XY => {
    let i = 1;
    while (i < line.length - 1 && lengths[i]! < s) i++;
    const span = lengths[i]! - lengths[i - 1]!;
    const t = span === 0 ? 0 : (s - lengths[i - 1]!) / span;
    return {
      xM: line[i - 1]![0] + (line[i]![0] - line[i - 1]![0]) * t,
      yM: line[i - 1]![1] + (line[i]![1] - line[i - 1]![1]) * t,
    };
  };
  const count = Math.max(1, Math.round(total / sideM));
  const step = total / count;
  return Array.from({ length: count }, (_, i) => {
    const centre = at((i + 0.5) * step);
    return {
      xM: centre.xM,
      yM: centre.yM,
      sideM: step,
      places: Array.from({ length: 9 }, (_, j) => at((i + (j + 0.5) / 9) * step)),
    };
  });
}
