import type { SweepTerrain } from "./types.ts";

/**
 * A triangle of ground seen from the terminal: cells whose offset along one axis (major) is at least that along the other.
 * Rays have slope k / rays, −rays ≤ k ≤ rays, in minor cells per major cell; step j is the j-th cell along the major axis.
 */
export interface Sector {
  /** Index step of one cell outward. */
  majorStride: number;
  /** Index step of one cell in rising minor direction. */
  minorStride: number;
  /** Cells outward that the sector holds. */
  reach: number;
  /** Rays on either side of the axis. */
  rays: number;
  /** Cells from the terminal to the grid's edge, against and along the minor direction. */
  minorBelow: number;
  minorAbove: number;
  /** Number of the sector's first ray among all rays, and the k of that ray. */
  firstRay: number;
  firstK: number;
  rayCount: number;
}

export interface RayPlan {
  sectors: Sector[];
  rayCount: number;
  /** Index of the terminal's cell. */
  origin: number;
  /** Square of the range in cells. */
  rangeCells2: number;
}

export interface RayPlace {
  col: number;
  row: number;
  maxRangeM: number;
}

/**
 * Lays rays so that every cell within range is owned by exactly one of them.
 * The left and right sectors own their diagonals, the upper and lower ones do not.
 * @param density rays per cell at a sector's rim, ≥ 1
 */
export function planRays(terrain: SweepTerrain, place: RayPlace, density: number): RayPlan {
  const { cols, rows, cellM } = terrain;
  const { col, row } = place;
  const range = place.maxRangeM / cellM;
  const sectors: Sector[] = [];
  let rayCount = 0;
  const add = (toEdge: number, majorStride: number, horizontal: boolean) => {
    const reach = Math.min(toEdge, Math.floor(range));
    if (reach < 1) return;
    const rays = Math.max(reach, Math.ceil(reach * density));
    const count = horizontal ? 2 * rays + 1 : 2 * rays - 1;
    sectors.push({
      majorStride,
      minorStride: horizontal ? cols : 1,
      reach,
      rays,
      minorBelow: horizontal ? row : col,
      minorAbove: horizontal ? rows - 1 - row : cols - 1 - col,
      firstRay: rayCount,
      firstK: horizontal ? -rays : 1 - rays,
      rayCount: count,
    });
    rayCount += count;
  };
  add(cols - 1 - col, 1, true);
  add(col, -1, true);
  add(rows - 1 - row, cols, false);
  add(row, -cols, false);
  return { sectors, rayCount, origin: row * cols + col, rangeCells2: range * range };
}

/**
 * Steps a ray takes until it leaves the range or stands more than half a cell outside the grid: a ray may own a cell of the
 * grid's edge while it passes just outside of it.
 */
export function raySteps(sector: Sector, k: number, rangeCells2: number): number {
  const slope = k / sector.rays;
  // A cell that the ray owns lies at most half a cell off the ray.
  let steps = Math.min(sector.reach, Math.floor((Math.sqrt(rangeCells2) + 0.5) / Math.sqrt(1 + slope * slope)));
  if (k !== 0) {
    const limit = k < 0 ? sector.minorBelow : sector.minorAbove;
    steps = Math.min(steps, Math.floor(((2 * limit + 1) * sector.rays) / (2 * Math.abs(k))));
  }
  return steps;
}

/**
 * For each ray the step of the last masked cell it owns, 0 for none.
 * Ownership is integer arithmetic, the same rule as in the ray sampler: −j ≤ 2(i·rays − j·k) < j.
 */
export function lastMaskedSteps(terrain: SweepTerrain, plan: RayPlan, mask: Uint8Array): Int32Array {
  const last = new Int32Array(plan.rayCount);
  const { cols, rows } = terrain;
  const row0 = Math.floor(plan.origin / cols);
  const col0 = plan.origin - row0 * cols;
  const byStride = (stride: number) => plan.sectors.find((s) => s.majorStride === stride);
  const east = byStride(1);
  const west = byStride(-1);
  const south = plan.sectors.find((s) => s.minorStride === 1 && s.majorStride > 0);
  const north = plan.sectors.find((s) => s.minorStride === 1 && s.majorStride < 0);
  for (let row = 0; row < rows; row++) {
    const dr = row - row0;
    for (let col = 0; col < cols; col++) {
      if (mask[row * cols + col] === 0) continue;
      const dc = col - col0;
      if (dc * dc + dr * dr > plan.rangeCells2) continue;
      const across = Math.abs(dc) >= Math.abs(dr);
      const sector = across ? (dc > 0 ? east : west) : dr > 0 ? south : north;
      const j = across ? Math.abs(dc) : Math.abs(dr);
      if (sector === undefined || j === 0 || j > sector.reach) continue;
      const i = across ? dr : dc;
      const k = Math.floor((2 * i * sector.rays + j) / (2 * j));
      const ray = sector.firstRay + k - sector.firstK;
      if (last[ray]! < j) last[ray] = j;
    }
  }
  return last;
}
