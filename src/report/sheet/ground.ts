import type { Grid, Scene } from "../../terrain/scene.ts";
import { contourLines, outlines, reduce } from "../contours.ts";
import { hatch, type Item, line, type Pt, polygon, text } from "./draw.ts";
import type { MapFrame } from "./map-frame.ts";

/** About one contour vertex per this much paper. */
const VERTEX_MM = 0.55;
const TREE_M = 2;
const STEPS = [0.5, 1, 2, 5, 10, 20, 50, 100, 200];
const MOST_LEVELS = 13;

/** The part of a grid that a map shows, a cell more all round; null where the map lies off the grid. */
function window(scene: Scene, values: Float32Array, map: MapFrame): { grid: Grid; values: Float32Array } | null {
  const { grid } = scene;
  const halfX = (map.box.w / 2) * (map.scale / 1000);
  const halfY = (map.box.h / 2) * (map.scale / 1000);
  const c0 = Math.max(0, Math.floor((map.centre.xM - halfX - grid.westM) / grid.cellM) - 2);
  const c1 = Math.min(grid.cols, Math.ceil((map.centre.xM + halfX - grid.westM) / grid.cellM) + 2);
  const r0 = Math.max(0, Math.floor((grid.northM - map.centre.yM - halfY) / grid.cellM) - 2);
  const r1 = Math.min(grid.rows, Math.ceil((grid.northM - map.centre.yM + halfY) / grid.cellM) + 2);
  const cols = c1 - c0;
  const rows = r1 - r0;
  if (cols < 2 || rows < 2) return null;
  const out = new Float32Array(cols * rows);
  for (let r = 0; r < rows; r++)
    out.set(values.subarray((r0 + r) * grid.cols + c0, (r0 + r) * grid.cols + c1), r * cols);
  return {
    grid: { westM: grid.westM + c0 * grid.cellM, northM: grid.northM - r0 * grid.cellM, cellM: grid.cellM, cols, rows },
    values: out,
  };
}

const rings = (map: MapFrame, polygons: readonly [number, number][][][]): Pt[][] =>
  polygons.flatMap((p) => p.map((r) => r.map(([xM, yM]) => map.mm({ xM, yM }))));

/** The part of a map that the working grid does not reach, as rings under the even-odd rule; empty where it reaches all. */
function beyondGrid(grid: Grid, map: MapFrame): Pt[][] {
  const { x, y, w, h } = map.box;
  const [left, top] = map.mm({ xM: grid.westM, yM: grid.northM });
  const [right, bottom] = map.mm({
    xM: grid.westM + grid.cols * grid.cellM,
    yM: grid.northM - grid.rows * grid.cellM,
  });
  const ring = (x1: number, y1: number, x2: number, y2: number): Pt[] => [
    [x1, y1],
    [x2, y1],
    [x2, y2],
    [x1, y2],
  ];
  const inner = [Math.max(x, left), Math.max(y, top), Math.min(x + w, right), Math.min(y + h, bottom)] as const;
  const all = ring(x, y, x + w, y + h);
  if (inner[0] >= inner[2] || inner[1] >= inner[3]) return [all];
  const covers = inner[0] <= x && inner[1] <= y && inner[2] >= x + w && inner[3] >= y + h;
  return covers ? [] : [all, ring(...inner)];
}

/** Trees, unknown ground, contours and buildings of a map, from the plan's own data; with the contour step drawn. */
export function groundItems(scene: Scene, map: MapFrame): { items: Item[]; stepM: number | null; unknown: boolean } {
  const items: Item[] = [];
  const unknown = hatch(beyondGrid(scene.grid, map), 1.6, 45);
  const most = Math.max(40, Math.round(Math.max(map.box.w, map.box.h) / VERTEX_MM));
  if (scene.canopyM) {
    const part = window(scene, scene.canopyM, map);
    if (part) {
      const small = reduce(part.grid, part.values, most * 2);
      const trees = rings(map, outlines(small.grid, small.values, TREE_M));
      if (trees.length > 0) items.push(polygon(trees, 0.83, null));
    }
  }
  let stepM: number | null = null;
  const part = window(scene, scene.groundM, map);
  if (part) {
    const small = reduce(part.grid, part.values, most);
    const voids = Float32Array.from(small.values, (v) => (Number.isNaN(v) ? 1 : 0));
    unknown.push(...hatch(rings(map, outlines(small.grid, voids, 0.5)), 1.6, 45));
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (const v of small.values) {
      if (v < low) low = v;
      if (v > high) high = v;
    }
    if (high > low) {
      stepM = STEPS.find((s) => (high - low) / s <= MOST_LEVELS) ?? STEPS.at(-1)!;
      const index = stepM * 5;
      for (const c of contourLines(small.grid, small.values, stepM)) {
        if (c.points.length < 4) continue;
        const heavy = Math.abs(c.heightM / index - Math.round(c.heightM / index)) < 1e-9;
        const points = c.points.map(([xM, yM]) => map.mm({ xM, yM }));
        items.push(line(points, heavy ? 0.22 : 0.1, { gray: heavy ? 0.45 : 0.6 }));
        if (!heavy) continue;
        const inside = c.points.filter(([xM, yM]) => map.shown({ xM, yM }, 9));
        const at = inside[Math.floor(inside.length * 0.4)];
        if (at && inside.length > 12)
          items.push(
            text(map.mm({ xM: at[0], yM: at[1] }), String(c.heightM), { gray: 0.4, haloMm: 0.8, anchor: "middle" }),
          );
      }
    }
  }
  for (const l of unknown) items.push(line(l, 0.12, { gray: 0.4 }));
  for (const b of scene.buildings)
    items.push(
      polygon(rings(map, b.polygons), b.temporary ? null : 0.72, {
        gray: 0.25,
        widthMm: 0.15,
        ...(b.temporary ? { dashMm: [0.8, 0.6] } : {}),
      }),
    );
  return { items, stepM, unknown: unknown.length > 0 };
}
