import { cancelled } from "../errors/index.ts";
import type { LngLat } from "../geodesy/types.ts";
import type { Scene } from "../terrain/scene.ts";
import { DEG, EARTH_RADIUS_KM, STANDARD_K, toDegrees } from "../units/index.ts";
import type { DishSettings } from "./dish.ts";
import { horizonMap } from "./horizon-map.kernel.ts";
import { type ScreenLayers, screenLayers } from "./screen-layers.ts";
import { shadowSweep, transpose } from "./shadow.kernel.ts";
import { skyIndex } from "./sky-index.ts";
import { type SweepFrame, sweepFrame } from "./sweep-frame.ts";
import { exitDistance } from "./tube.ts";

export interface MapOptions {
  /** 1 for the cells wanted, row-major; all when absent. Fewer cells are faster. */
  mask?: Uint8Array;
  /** ISO date for temporary obstacles; all of them count when absent. */
  date?: string;
  /** Dish centre above ground, m; default the dish's own. */
  eyeHeightM?: number;
  k?: number;
  onProgress?: (share: number) => void;
  shouldStop?: () => boolean;
}

export interface ClearanceMap {
  /** Clearance to hard objects per cell, degrees; negative where the ray is blocked (minus the elevation needed); NaN unknown. */
  clearanceDeg: Float32Array;
  /** The same to trees; without a canopy layer, to whatever else stands on the surface; null with bare ground only. */
  treeClearanceDeg: Float32Array | null;
}

/** Offsets across the tube, at most this many to each side. */
const MOST_OFFSETS = 6;

/**
 * Clearance of a satellite over every cell of the grid at eye height: screening.
 * Azimuths are fanned over the tube; at angular offset β the elevation clearance e stands for the margin √(e² + β²). Lines
 * carry the taller of two neighbouring cells and a cell's height stands at its near edge, so errors lie on the safe side.
 * Against the exact tube: outlines are burned by cell centre, so edges lie within half a cell; about one cell in a hundred
 * near an edge of visibility differs, most of them on the safe side.
 * Values up to the dish's margin are those of the tube; above it they are upper bounds, as only the tube's width is swept.
 * @param site  its heightM (above the ellipsoid, m) enters the direction only; the place of every cell is its own
 */
export function clearanceMap(
  scene: Scene,
  site: LngLat & { heightM?: number },
  satelliteDeg: number,
  dish: DishSettings,
  options: MapOptions = {},
): ClearanceMap {
  const layers = screenLayers(scene, options.date ?? null, dish.growthM);
  const heightM = site.heightM ?? 0;
  const passes = layers.soft === null ? 1 : 2;
  const say = (pass: number) => (share: number) => options.onProgress?.((pass + share) / passes);
  const clearanceDeg = fan(scene, layers, layers.hard, dish.marginDeg, satelliteDeg, heightM, dish, options, say(0));
  const treeClearanceDeg =
    layers.soft === null
      ? null
      : fan(scene, layers, layers.soft, dish.treeMarginDeg, satelliteDeg, heightM, dish, options, say(1));
  if (treeClearanceDeg !== null && scene.canopyM !== null) {
    // A dish under a canopy looks into it, whatever stands further off.
    const eyeM = options.eyeHeightM ?? dish.eyeHeightM;
    const straightUp = sweepFrame(scene, satelliteDeg, heightM, 0);
    const under = straightUp.elevationDeg[straightUp.majors >> 1]! - 90;
    for (let i = 0; i < treeClearanceDeg.length; i++)
      if (scene.canopyM[i]! + dish.growthM > Math.max(2, eyeM) && scene.canopyM[i]! > 0 && treeClearanceDeg[i]! > under)
        treeClearanceDeg[i] = under;
  }
  settleUnknown(scene, layers, satelliteDeg, heightM, dish, options, clearanceDeg, treeClearanceDeg);
  return { clearanceDeg, treeClearanceDeg };
}

function offsets(scene: Scene, layers: ScreenLayers, marginDeg: number, elevationDeg: number): number[] {
  const wide = Math.sin(marginDeg * DEG) / Math.cos(Math.min(80, elevationDeg) * DEG);
  const half = wide >= 1 ? 60 : toDegrees(Math.asin(wide));
  const range = Math.max(5, layers.tallestM) / Math.tan(Math.max(3, elevationDeg - marginDeg) * DEG);
  const spacing = toDegrees(Math.atan(scene.grid.cellM / range));
  const n = Math.max(2, Math.min(MOST_OFFSETS, Math.ceil(half / spacing)));
  return Array.from({ length: 2 * n + 1 }, (_, i) => ((i - n) / n) * half);
}

function fan(
  scene: Scene,
  layers: ScreenLayers,
  tops: Float32Array,
  marginDeg: number,
  satelliteDeg: number,
  heightM: number,
  dish: DishSettings,
  options: MapOptions,
  say: (share: number) => void,
): Float32Array {
  const { grid, groundM } = scene;
  const n = grid.cols * grid.rows;
  const straight = sweepFrame(scene, satelliteDeg, heightM, 0);
  const middle = straight.elevationDeg[straight.majors >> 1]!;
  const eyes = new Float32Array(n);
  const eyeM = (options.eyeHeightM ?? dish.eyeHeightM) - rimM(dish, middle, marginDeg);
  let count = 0;
  for (let i = 0; i < n; i++) {
    eyes[i] = layers.inBuilding[i] === 1 || (options.mask && options.mask[i] === 0) ? Number.NaN : groundM[i]! + eyeM;
    if (!Number.isNaN(eyes[i]!)) count++;
  }
  const wanted = new Uint32Array(count);
  for (let i = 0, at = 0; i < n; i++) if (!Number.isNaN(eyes[i]!)) wanted[at++] = i;
  const ahead = skyIndex(scene).columns ? 0.5 : 0;
  const earthM = (options.k ?? STANDARD_K) * EARTH_RADIUS_KM * 1000;
  const tan = new Float32Array(n);
  const ahead0 = new Float32Array(n);
  const worst = new Float32Array(n);
  const fanned = offsets(scene, layers, marginDeg, middle).sort((a, b) => Math.abs(a) - Math.abs(b));
  fanned.forEach((offset, pass) => {
    if (options.shouldStop?.()) throw cancelled("the sky-view map");
    const frame = offset === 0 ? straight : sweepFrame(scene, satelliteDeg, heightM, offset);
    tan.fill(ahead > 0 ? -1e9 : 0);
    sweepHorizon(frame, grid.cols, tops, eyes, wanted, ahead, earthM, tan);
    const beta = toDegrees(Math.asin(Math.sin(Math.abs(offset) * DEG) * Math.cos(middle * DEG)));
    for (let at = 0; at < count; at++) {
      const i = wanted[at]!;
      if (pass > 0 && worst[i]! <= beta) continue;
      const major = straight.turned ? i % grid.cols : Math.floor(i / grid.cols);
      const el = straight.elevationDeg[straight.reversed ? straight.majors - 1 - major : major]!;
      const e = el - toDegrees(Math.atan(tan[i]!));
      if (pass === 0) {
        ahead0[i] = e;
        worst[i] = Math.max(e, 0);
      } else {
        const m = e > 0 ? Math.sqrt(e * e + beta * beta) : beta;
        if (m < worst[i]!) worst[i] = m;
      }
    }
    say((pass + 1) / fanned.length);
  });
  for (let i = 0; i < n; i++) {
    if (Number.isNaN(eyes[i]!))
      worst[i] = layers.inBuilding[i] === 1 && !(options.mask && options.mask[i] === 0) ? middle - 90 : Number.NaN;
    else if (ahead0[i]! < 0) worst[i] = ahead0[i]!;
  }
  return worst;
}

/** How far under the dish's centre the tube's lower edge would meet the vertical through it, m. */
function rimM(dish: DishSettings, elevationDeg: number, marginDeg: number): number {
  const low = Math.max(-30, elevationDeg - marginDeg) * DEG;
  return (dish.diameterM / 2) * (Math.cos(elevationDeg * DEG) + Math.sin(elevationDeg * DEG) * Math.tan(low));
}

function sweepHorizon(
  frame: SweepFrame,
  cols: number,
  tops: Float32Array,
  eyes: Float32Array,
  wanted: Uint32Array,
  ahead: number,
  earthM: number,
  out: Float32Array,
): void {
  const majorStride = (frame.turned ? 1 : cols) * (frame.reversed ? -1 : 1);
  const minorStride = frame.turned ? cols : 1;
  const start = frame.reversed ? (frame.majors - 1) * (frame.turned ? 1 : cols) : 0;
  const { firstLine, lastMajor } = lastWanted(frame, cols, wanted);
  const hullX = new Float64Array(frame.majors + 2);
  const hullZ = new Float64Array(frame.majors + 2);
  horizonMap(
    tops,
    eyes,
    frame.minors,
    start,
    majorStride,
    minorStride,
    frame.runM,
    frame.shift,
    ahead,
    ahead > 0 ? 1 : 0,
    earthM,
    firstLine,
    lastMajor,
    hullX,
    hullZ,
    out,
  );
}

/** The last major row at which each line of a sweep meets a wanted cell, −1 where it meets none; and the first line's number. */
function lastWanted(
  frame: SweepFrame,
  cols: number,
  wanted: Uint32Array,
): { firstLine: number; lastMajor: Int32Array } {
  const travelled = new Float64Array(frame.majors);
  let total = 0;
  let least = 0;
  let most = 0;
  for (let i = 1; i < frame.majors; i++) {
    total += frame.shift[i]!;
    travelled[i] = total;
    if (total < least) least = total;
    if (total > most) most = total;
  }
  const firstLine = Math.floor(-most) - 1;
  const lastLine = frame.minors - 1 + Math.ceil(-least);
  const lastMajor = new Int32Array(lastLine - firstLine + 1).fill(-1);
  for (let at = 0; at < wanted.length; at++) {
    const index = wanted[at]!;
    const col = index % cols;
    const row = (index - col) / cols;
    const along = frame.turned ? col : row;
    const i = frame.reversed ? frame.majors - 1 - along : along;
    // A cell is met by the lines whose floor is its own place or one less; rounding may move a line by one more.
    const line = (frame.turned ? row : col) - Math.floor(travelled[i]!) - firstLine;
    for (let near = Math.max(line - 2, 0); near <= Math.min(line + 1, lastMajor.length - 1); near++)
      if (lastMajor[near]! < i) lastMajor[near] = i;
  }
  return { firstLine, lastMajor };
}

/**
 * Height of the shadow over every cell for a direction `offsetDeg` aside of a satellite and `lowerDeg` under it, m AMSL.
 * The kernel's rows must run across the direction: where they do not, the raster is turned, swept and turned back.
 */
export function shadowHeights(
  scene: Scene,
  tops: Float32Array,
  satelliteDeg: number,
  heightM: number,
  offsetDeg: number,
  lowerDeg: number,
  ahead: number,
): Float32Array {
  const { cols, rows } = scene.grid;
  const frame = sweepFrame(scene, satelliteDeg, heightM, offsetDeg);
  const drop = new Float64Array(frame.majors);
  const shift = new Float64Array(frame.majors);
  let travel = 0;
  for (let i = 0; i < frame.majors; i++) {
    const row = frame.reversed ? frame.majors - 1 - i : i;
    drop[row] = frame.runM * Math.tan(Math.max(0.05, frame.elevationDeg[i]! - lowerDeg) * DEG);
    shift[row] = frame.shift[i]!;
    travel += Math.abs(frame.shift[i]!);
  }
  const out = new Float32Array(cols * rows);
  const line = new Float32Array(frame.minors + Math.ceil(travel) + 8);
  const first = frame.reversed ? frame.majors - 1 : 0;
  if (!frame.turned) {
    shadowSweep(tops, cols, rows, first, drop, shift, ahead, ahead > 0 ? 1 : 0, line, out);
    return out;
  }
  const turned = new Float32Array(cols * rows);
  const swept = new Float32Array(cols * rows);
  transpose(tops, cols, rows, turned);
  shadowSweep(turned, rows, cols, first, drop, shift, ahead, ahead > 0 ? 1 : 0, line, swept);
  transpose(swept, rows, cols, out);
  return out;
}

/** Cells that look clear but whose tube passes low over voids or leaves the data low become NaN. */
function settleUnknown(
  scene: Scene,
  layers: ScreenLayers,
  satelliteDeg: number,
  heightM: number,
  dish: DishSettings,
  options: MapOptions,
  hard: Float32Array,
  soft: Float32Array | null,
): void {
  const { grid } = scene;
  const straight = sweepFrame(scene, satelliteDeg, heightM, 0);
  const middle = straight.elevationDeg[straight.majors >> 1]!;
  const rim = rimM(dish, middle, dish.marginDeg);
  const slope = Math.tan(Math.max(0.05, middle - dish.marginDeg) * DEG);
  const known = (i: number) => hard[i]! >= dish.marginDeg && (soft === null || soft[i]! >= dish.treeMarginDeg);
  const strike = (i: number) => {
    hard[i] = Number.NaN;
    if (soft !== null) soft[i] = Number.NaN;
  };
  const hides = dish.dataEdgeHeightM + rim;
  if (layers.anyVoid) {
    const marks = new Float32Array(grid.cols * grid.rows);
    for (let i = 0; i < marks.length; i++) marks[i] = layers.voids[i] === 1 ? 0 : Number.NaN;
    for (const offset of offsets(scene, layers, dish.marginDeg, middle)) {
      if (options.shouldStop?.()) throw cancelled("the sky-view map");
      const beta = toDegrees(Math.asin(Math.sin(Math.abs(offset) * DEG) * Math.cos(middle * DEG)));
      const lower = Math.sqrt(Math.max(0, dish.marginDeg ** 2 - beta ** 2));
      const shadow = shadowHeights(scene, marks, satelliteDeg, heightM, offset, lower, 0.5);
      for (let i = 0; i < shadow.length; i++) if (shadow[i]! + hides > 0 && known(i)) strike(i);
    }
  }
  const edgeGrid = scene.hasSurface || scene.farField === null ? grid : scene.farField.grid;
  const azimuth = straight.middleAzimuthDeg;
  const [ex, ey] = [Math.sin(azimuth * DEG), Math.cos(azimuth * DEG)];
  for (let row = 0; row < grid.rows; row++)
    for (let col = 0; col < grid.cols; col++) {
      const i = row * grid.cols + col;
      if (options.mask && options.mask[i] === 0) continue;
      if (!known(i)) continue;
      const eye = { xM: grid.westM + (col + 0.5) * grid.cellM, yM: grid.northM - (row + 0.5) * grid.cellM };
      if (exitDistance(eye, edgeGrid, ex, ey) * slope < hides) strike(i);
    }
}

export interface NeededHeight {
  /** Eye height above ground at which the tube is free, m, >= 0; NaN unknown. */
  neededM: Float32Array;
}

/**
 * How high the dish would need to be over every cell: the shadow of everything in the tube, one sweep per azimuth.
 * Hard objects with their margin, trees with theirs. Inside buildings it is the height above ground, not above the roof.
 */
export function neededHeightMap(
  scene: Scene,
  site: LngLat & { heightM?: number },
  satelliteDeg: number,
  dish: DishSettings,
  options: MapOptions = {},
): NeededHeight {
  const layers = screenLayers(scene, options.date ?? null, dish.growthM);
  const heightM = site.heightM ?? 0;
  const { grid, groundM } = scene;
  const n = grid.cols * grid.rows;
  const neededM = new Float32Array(n);
  const straight = sweepFrame(scene, satelliteDeg, heightM, 0);
  const middle = straight.elevationDeg[straight.majors >> 1]!;
  const ahead = skyIndex(scene).columns ? 0.5 : 0;
  const kinds: [Float32Array, number][] = [[layers.hard, dish.marginDeg]];
  if (layers.soft !== null) kinds.push([layers.soft, dish.treeMarginDeg]);
  kinds.forEach(([tops, margin], kind) => {
    const rim = rimM(dish, middle, margin);
    const fanned = offsets(scene, layers, margin, middle);
    fanned.forEach((offset, pass) => {
      if (options.shouldStop?.()) throw cancelled("the needed-height map");
      const beta = toDegrees(Math.asin(Math.sin(Math.abs(offset) * DEG) * Math.cos(middle * DEG)));
      const lower = Math.sqrt(Math.max(0, margin ** 2 - beta ** 2));
      const shadow = shadowHeights(scene, tops, satelliteDeg, heightM, offset, lower, ahead);
      for (let i = 0; i < n; i++) {
        const need = shadow[i]! - groundM[i]! + rim;
        if (need > neededM[i]!) neededM[i] = need;
      }
      options.onProgress?.((kind + (pass + 1) / fanned.length) / kinds.length);
    });
  });
  for (let i = 0; i < n; i++)
    if (Number.isNaN(groundM[i]!) || (options.mask && options.mask[i] === 0)) neededM[i] = Number.NaN;
  return { neededM };
}
