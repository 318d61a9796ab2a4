import { cellsInside } from "./footprint.kernel.ts";
import { cellOf, type Grid } from "./scene.ts";

export type Ring = [number, number][];
/** Polygons of a footprint, each a list of closed rings in the local frame. */
export type Footprint = Ring[][];

/** Area of a footprint, m²: outer rings less holes. */
export function footprintArea(polygons: Footprint): number {
  const ringArea = (ring: Ring): number => {
    let sum = 0;
    for (let i = 0; i + 1 < ring.length; i++) sum += ring[i]![0] * ring[i + 1]![1] - ring[i + 1]![0] * ring[i]![1];
    return Math.abs(sum) / 2;
  };
  return polygons.reduce((all, rings) => {
    const [outer = 0, ...holes] = rings.map(ringArea);
    return all + outer - holes.reduce((a, b) => a + b, 0);
  }, 0);
}

/** Mean of the corners of the first ring: a place in or near the footprint. */
export function footprintMiddle(polygons: Footprint): { xM: number; yM: number } {
  const ring = polygons[0]![0]!.slice(0, -1);
  const sum = ring.reduce((s, p) => [s[0] + p[0], s[1] + p[1]] as [number, number], [0, 0] as [number, number]);
  return { xM: sum[0] / ring.length, yM: sum[1] / ring.length };
}

/**
 * Indexes of the grid cells whose centre lies inside a footprint (even-odd rule), in rising order within each polygon.
 * @param polygons  in the local frame, metres
 * A footprint that holds no centre gives no cell: small things on a coarse grid are the caller's to judge.
 */
export function footprintCells(grid: Grid, polygons: Footprint): Uint32Array {
  const parts = polygons.map((rings) => {
    const corners = rings.flat();
    const at = corners.map(([xM, yM]) => cellOf(grid, { xM, yM }));
    const xs = Float64Array.from(at, (p) => p.col);
    const ys = Float64Array.from(at, (p) => p.row);
    let end = 0;
    const ends = Uint32Array.from(rings, (ring) => {
      end += ring.length;
      return end;
    });
    const least = (v: Float64Array) => v.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
    const greatest = (v: Float64Array) => v.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
    const [w, e, n, s] = [least(xs), greatest(xs), least(ys), greatest(ys)];
    const most =
      Math.max(0, Math.min(grid.cols, Math.ceil(e - w) + 2)) * Math.max(0, Math.min(grid.rows, Math.ceil(s - n) + 2));
    const out = new Uint32Array(most);
    const count = cellsInside(xs, ys, ends, grid.cols, grid.rows, new Float64Array(corners.length + 1), out);
    return out.subarray(0, Math.max(0, count));
  });
  if (parts.length === 1) return parts[0]!;
  return Uint32Array.from(new Set(parts.flatMap((p) => [...p])));
}
