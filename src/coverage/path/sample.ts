import type { Grid, Scene } from "../../terrain/scene.ts";
import { sampleLine } from "./sample-line.kernel.ts";

/** One end of a path: a place, the height of its antenna above ground (or above the roof it stands on). */
export interface PathEnd {
  xM: number;
  yM: number;
  heightM: number;
  /** Index of the building the terminal is inside or on top of, −1 for none; its own footprint never blocks it. */
  building: number;
  onRoof: boolean;
}

/**
 * A path cut out of a scene. Arrays hold `n` values from the unit (0) to the terminal (n − 1).
 * Where data are missing `voids` says so and the nearest known height before it is held, so that a loss can be shown
 * as an estimate; whoever judges by it has to look at `unknownShare` first.
 */
export interface PathProfile {
  n: number;
  distanceM: number;
  stepM: number;
  /** Distance from the unit, km. */
  distancesKm: Float64Array;
  groundM: Float64Array;
  /** True where a height is missing and the last known one is held in its place. */
  voids: Uint8Array;
  /** Obstacles with canopy solid; end cells and own buildings cleared to ground. */
  solidM: Float64Array;
  /** Obstacles with canopy absent. */
  bareM: Float64Array;
  /** Top of vegetation, −Infinity where there is none. */
  canopyTopM: Float64Array;
  /** Building index at the sample, −1 for none. */
  building: Int32Array;
  hasCanopy: boolean;
  /** Solid and bare heights are not the same all along: only then do trees make a second path worth a look. */
  treesDiffer: boolean;
  unknownShare: number;
  unitAmslM: number;
  terminalAmslM: number;
}

export const MAX_SAMPLES = 6000;

/** Room for one path; kept and reused, since a ranking cuts tens of thousands of them. */
export function createProfile(): PathProfile {
  return {
    n: 0,
    distanceM: 0,
    stepM: 0,
    distancesKm: new Float64Array(MAX_SAMPLES),
    groundM: new Float64Array(MAX_SAMPLES),
    voids: new Uint8Array(MAX_SAMPLES),
    solidM: new Float64Array(MAX_SAMPLES),
    bareM: new Float64Array(MAX_SAMPLES),
    canopyTopM: new Float64Array(MAX_SAMPLES),
    building: new Int32Array(MAX_SAMPLES),
    hasCanopy: false,
    treesDiffer: false,
    unknownShare: 0,
    unitAmslM: Number.NaN,
    terminalAmslM: Number.NaN,
  };
}

const cellIndex = (grid: Grid, xM: number, yM: number): number => {
  const col = Math.floor((xM - grid.westM) / grid.cellM);
  const row = Math.floor((grid.northM - yM) / grid.cellM);
  return col < 0 || row < 0 || col >= grid.cols || row >= grid.rows ? -1 : row * grid.cols + col;
};

/**
 * Cuts the straight path between two ends out of a scene into `out`, one sample per cell or finer (at least 4, at most 6,000).
 * Heights are bilinear between cell centres; cells that belong to an end (its own cell, its own building) give ground instead of obstacle.
 */
export function samplePath(scene: Scene, unit: PathEnd, terminal: PathEnd, out: PathProfile): void {
  const { grid } = scene;
  const distanceM = Math.hypot(terminal.xM - unit.xM, terminal.yM - unit.yM);
  const n = Math.min(MAX_SAMPLES, Math.max(4, Math.ceil(distanceM / grid.cellM) + 1));
  const unitCell = cellIndex(grid, unit.xM, unit.yM);
  const terminalCell = cellIndex(grid, terminal.xM, terminal.yM);
  const unknown = sampleLine(scene, unit, terminal, distanceM, n, unitCell, terminalCell, out);
  if (unknown > 0) holdVoids(out, n);
  out.n = n;
  out.distanceM = distanceM;
  out.stepM = distanceM / (n - 1);
  out.unknownShare = unknown / n;
  out.unitAmslM = endAmslM(scene, unit, out.groundM[0]!);
  out.terminalAmslM = endAmslM(scene, terminal, out.groundM[n - 1]!);
}

/** Replaces missing heights by the last known one before them (the first known one at the start). */
function holdVoids(p: PathProfile, n: number): void {
  let last = -1;
  for (let i = 0; i < n; i++) {
    if (p.voids[i] === 0) {
      if (last < 0) for (let j = 0; j < i; j++) copyHeights(p, i, j);
      last = i;
    } else if (last >= 0) copyHeights(p, last, i);
  }
}

function copyHeights(p: PathProfile, from: number, to: number): void {
  p.groundM[to] = p.groundM[from]!;
  p.solidM[to] = p.groundM[from]!;
  p.bareM[to] = p.groundM[from]!;
}

function endAmslM(scene: Scene, end: PathEnd, groundM: number): number {
  if (end.onRoof && end.building >= 0) return scene.buildings[end.building]!.topAmslM + end.heightM;
  return groundM + end.heightM;
}
