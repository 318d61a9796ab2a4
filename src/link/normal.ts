import { normalCdf as exactCdf, normalQuantile } from "../propagation/normal.ts";

/** Φ is taken as 0 and 1 beyond this; it is 6e-16 there. */
const REACH = 8;
const PER_UNIT = 32;

/** A smooth function tabled at equal steps with its slope, read by cubic Hermite interpolation. */
export interface SmoothTable {
  start: number;
  perUnit: number;
  /** Pairs of value and slope times step. */
  nodes: Float64Array;
}

export function tabulate(
  start: number,
  end: number,
  perUnit: number,
  value: (x: number) => number,
  slope: (x: number) => number,
): SmoothTable {
  const count = Math.ceil((end - start) * perUnit) + 1;
  const nodes = new Float64Array(2 * count);
  for (let i = 0; i < count; i++) {
    const x = start + i / perUnit;
    nodes[2 * i] = value(x);
    nodes[2 * i + 1] = slope(x) / perUnit;
  }
  return { start, perUnit, nodes };
}

/** Value of a table of a distribution function: 0 below it, 1 above it, NaN for NaN. No allocation. */
export function readDistribution(table: SmoothTable, x: number): number {
  const { nodes } = table;
  const position = (x - table.start) * table.perUnit;
  if (!(position >= 0)) return position < 0 ? 0 : Number.NaN;
  const i = Math.floor(position);
  if (2 * i + 3 >= nodes.length) return 1;
  const t = position - i;
  const a = nodes[2 * i]!;
  const da = nodes[2 * i + 1]!;
  const b = nodes[2 * i + 2]!;
  const db = nodes[2 * i + 3]!;
  const c = b - a;
  return a + t * (da + t * (3 * c - 2 * da - db + t * (da + db - 2 * c)));
}

const density = (x: number): number => Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);

/** Table of Φ over ±8. */
export const NORMAL_TABLE: SmoothTable = tabulate(-REACH, REACH, PER_UNIT, exactCdf, density);

/** Normal distribution function Φ(x), within 5e-9; cheap enough for every cell of a raster. NaN in, NaN out. */
export const normalCdf = (x: number): number => readDistribution(NORMAL_TABLE, x);

/** Φ⁻¹(p) for 0 < p < 1, to 1e-12. */
export const inverseNormal = (p: number): number => normalQuantile(p);
