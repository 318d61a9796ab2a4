import { type Item, line, type Pt, polygon, SMALL_PT, text } from "./draw.ts";

/** Where the three norths lie, as offsets from true north in degrees, east positive. */
export interface Norths {
  declinationDeg: number;
  gridDeg: number;
}

/** Angles on paper: on the right side and in the right order, but wide enough apart to read. */
function drawn(n: Norths): { grid: number; magnetic: number } {
  const side = (deg: number): number => (Math.abs(deg) < 0.05 ? 0 : Math.sign(deg));
  const [g, m] = [side(n.gridDeg), side(n.declinationDeg)];
  if (g !== m || g === 0) return { grid: 16 * g, magnetic: 22 * m };
  return Math.abs(n.gridDeg) <= Math.abs(n.declinationDeg)
    ? { grid: 15 * g, magnetic: 32 * m }
    : { grid: 32 * g, magnetic: 15 * m };
}

/** True, grid and magnetic north from one foot; angles are drawn larger than they are and say their size. */
export function northsFigure(n: Norths, w: number, h: number): Item[] {
  const foot: Pt = [w / 2, h - 1];
  const reach = h - 5.5;
  const tip = (deg: number, mm: number): Pt => {
    const a = (deg * Math.PI) / 180;
    return [foot[0] + mm * Math.sin(a), foot[1] - mm * Math.cos(a)];
  };
  const items: Item[] = [];
  const { grid, magnetic } = drawn(n);
  const name = (deg: number, mm: number, words: string, bold = false): void => {
    const [x, y] = tip(deg, mm + 0.6);
    items.push(
      text([x, y - 0.4], words, {
        bold,
        sizePt: SMALL_PT,
        anchor: deg > 1 ? "start" : deg < -1 ? "end" : "middle",
      }),
    );
  };
  items.push(line([foot, tip(0, reach)], 0.35));
  const [sx, sy] = tip(0, reach);
  items.push(
    polygon(
      [
        [
          [sx, sy - 1.2],
          [sx + 0.9, sy + 1],
          [sx - 0.9, sy + 1],
        ],
      ],
      0,
      null,
    ),
  );
  name(0, reach + 0.6, "T", true);
  items.push(line([foot, tip(grid, reach * 0.6)], 0.25, { dashMm: [1.2, 0.7] }));
  if (Math.abs(grid) > 1) name(grid, reach * 0.6, "G", true);
  items.push(line([foot, tip(magnetic, reach * 0.86)], 0.25));
  const [mx, my] = tip(magnetic, reach * 0.86);
  const a = (magnetic * Math.PI) / 180;
  items.push(
    line(
      [
        [mx, my],
        [mx + 1.1 * Math.cos(a) - 1.6 * Math.sin(a), my + 1.1 * Math.sin(a) + 1.6 * Math.cos(a)],
      ],
      0.25,
    ),
  );
  name(magnetic, reach * 0.86, "M", true);
  return items;
}

const side = (deg: number): string =>
  Math.abs(deg) < 0.05 ? "0.0°" : `${Math.abs(deg).toFixed(1)}° ${deg > 0 ? "east" : "west"}`;

/** The three norths in words. */
export function northsText(n: Norths, model: string): string {
  const toGrid = n.declinationDeg - n.gridDeg;
  return `T true. M compass ${side(n.declinationDeg)} (${model}). G USNG grid ${side(n.gridDeg)}. Compass to grid: ${toGrid >= 0 ? "add" : "take off"} ${Math.abs(toGrid).toFixed(1)}°. Angles drawn larger.`;
}
