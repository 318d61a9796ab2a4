import type { LngLat } from "../geodesy/types.ts";
import type { HorizonSample } from "../plan/outputs/types.ts";
import { cellOf, type Scene } from "../terrain/scene.ts";
import { DEG, toDegrees, wrap360 } from "../units/index.ts";
import type { DishSettings } from "./dish.ts";
import { horizonRays } from "./horizon.kernel.ts";
import { ROOF_NOISE_M, STANDS_OUT_M, skyIndex } from "./sky-index.ts";
import { type Eye, exitDistance } from "./tube.ts";

/** Farthest terrain looked at, m: beyond the 30 km asked for, a 4000 m peak stands under 7°. */
export const HORIZON_REACH_M = 45_000;
const FLAT = -Math.tan(60 * DEG);

interface Layer {
  tangent: Float64Array;
  distance: Float64Array;
  voidAt: Float64Array;
}

const layer = (count: number): Layer => ({
  tangent: new Float64Array(count).fill(FLAT),
  distance: new Float64Array(count).fill(Number.NaN),
  voidAt: new Float64Array(count).fill(Number.POSITIVE_INFINITY),
});

/**
 * The skyline round a spot: ground (to 45 km, with Earth curvature and refraction), buildings by their outlines, trees,
 * and whatever else stands on the surface, each as an angle.
 * @param place   the spot, for grid convergence
 * @param eye     from standAt()
 * @param active  which buildings stand on the day
 * @param earthM  effective Earth radius, m
 * @param count   azimuths, evenly spaced from true north
 * @returns samples clockwise from true north; `elevationDeg` is the highest of all; null where a void nearer than the
 *   highest thing known could hide something up to the data-edge height
 */
export function skyline(
  scene: Scene,
  place: LngLat,
  eye: Eye,
  active: readonly boolean[],
  dish: DishSettings,
  earthM: number,
  count = 720,
): HorizonSample[] {
  const turn = scene.frame.convergenceDeg(place);
  const sinCos = new Float64Array(2 * count);
  for (let n = 0; n < count; n++) {
    const az = ((n * 360) / count - turn) * DEG;
    sinCos[2 * n] = Math.sin(az);
    sinCos[2 * n + 1] = Math.cos(az);
  }
  const index = skyIndex(scene);
  const ground = layer(count);
  rays(scene, index.terrain, 0, index.terrainMax, eye, sinCos, earthM, ground, scene.grid.cellM);
  if (scene.farField !== null) farRays(scene, eye, sinCos, earthM, ground, index.farMax);
  const trees = scene.canopyM === null ? null : layer(count);
  if (trees !== null) {
    const tops = treeTops(scene, dish.growthM);
    rays(scene, tops.values, 1, tops.most, eye, sinCos, earthM, trees, scene.grid.cellM / 2);
  }
  const things = index.columns ? layer(count) : null;
  if (things !== null) {
    const tops = thingTops(scene, eye, active);
    rays(scene, tops.values, 1, tops.most, eye, sinCos, earthM, things, scene.grid.cellM / 2);
  }
  const houses = layer(count);
  const which = new Int32Array(count).fill(-1);
  buildingAngles(scene, eye, active, turn, earthM, houses, which);
  return Array.from({ length: count }, (_, n) => sampleOf(n, count, ground, houses, trees, things, which, scene, dish));
}

function sampleOf(
  n: number,
  count: number,
  ground: Layer,
  houses: Layer,
  trees: Layer | null,
  things: Layer | null,
  which: Int32Array,
  scene: Scene,
  dish: DishSettings,
): HorizonSample {
  const deg = (l: Layer | null) =>
    l === null || Number.isNaN(l.distance[n]!) ? null : toDegrees(Math.atan(l.tangent[n]!));
  const terrainDeg = deg(ground);
  const buildingDeg = deg(houses);
  const treeDeg = deg(trees);
  let kind = "terrain" as HorizonSample["kind"];
  let top = ground.tangent[n]!;
  let distanceM = ground.distance[n]!;
  const take = (l: Layer | null, k: HorizonSample["kind"]) => {
    if (l === null || Number.isNaN(l.distance[n]!) || !(l.tangent[n]! > top || Number.isNaN(distanceM))) return;
    kind = k;
    top = l.tangent[n]!;
    distanceM = l.distance[n]!;
  };
  take(things, "surface");
  take(trees, "tree");
  take(houses, "building");
  const voidAt = Math.min(ground.voidAt[n]!, things?.voidAt[n] ?? Infinity, trees?.voidAt[n] ?? Infinity);
  const hidden = voidAt < (Number.isNaN(distanceM) ? Infinity : distanceM) && dish.dataEdgeHeightM / voidAt > top;
  const unknown = hidden || Number.isNaN(distanceM);
  return {
    azimuthDeg: (n * 360) / count,
    elevationDeg: unknown ? null : toDegrees(Math.atan(top)),
    terrainDeg,
    buildingDeg,
    treeDeg,
    kind: unknown ? "unknown" : kind,
    id: !unknown && kind === "building" ? (scene.buildings[which[n]!]?.id ?? null) : null,
    distanceM: unknown || Number.isNaN(distanceM) ? null : distanceM,
  };
}

function rays(
  scene: Scene,
  values: Float32Array,
  mode: number,
  most: number,
  eye: Eye,
  sinCos: Float64Array,
  earthM: number,
  out: Layer,
  stepM: number,
): void {
  if (most === Number.NEGATIVE_INFINITY) return;
  const { grid } = scene;
  const at = cellOf(grid, eye);
  // The spot's own cell never blocks: start beyond it.
  const from = mode === 1 ? grid.cellM * 0.75 : grid.cellM;
  horizonRays(
    values,
    grid.cols,
    grid.rows,
    grid.cellM,
    mode,
    sinCos,
    at.col,
    at.row,
    eye.amslM,
    from,
    HORIZON_REACH_M,
    stepM,
    earthM,
    most,
    out.tangent,
    out.distance,
    out.voidAt,
  );
}

/** Beyond the grid: pooled by maximum, so each cell speaks for itself. */
function farRays(scene: Scene, eye: Eye, sinCos: Float64Array, earthM: number, out: Layer, most: number): void {
  const { grid, groundM } = scene.farField!;
  const at = cellOf(grid, eye);
  const count = out.tangent.length;
  const unused = new Float64Array(1).fill(Number.POSITIVE_INFINITY);
  for (let n = 0; n < count; n++) {
    const from = Math.max(grid.cellM, exitDistance(eye, scene.grid, sinCos[2 * n]!, sinCos[2 * n + 1]!));
    horizonRays(
      groundM,
      grid.cols,
      grid.rows,
      grid.cellM,
      1,
      sinCos.subarray(2 * n, 2 * n + 2),
      at.col,
      at.row,
      eye.amslM,
      from,
      HORIZON_REACH_M,
      grid.cellM / 2,
      earthM,
      most,
      out.tangent.subarray(n, n + 1),
      out.distance.subarray(n, n + 1),
      unused,
    );
  }
}

interface Tops {
  values: Float32Array;
  most: number;
}
const treeCache = new WeakMap<Scene, { growthM: number; tops: Tops }>();

function treeTops(scene: Scene, growthM: number): Tops {
  const known = treeCache.get(scene);
  if (known !== undefined && known.growthM === growthM) return known.tops;
  const canopy = scene.canopyM!;
  const values = new Float32Array(canopy.length);
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) {
    const h = canopy[i]!;
    values[i] = h > STANDS_OUT_M ? scene.groundM[i]! + h + growthM : Number.isNaN(h) ? Number.NaN : -1e9;
    if (h > STANDS_OUT_M && values[i]! > most) most = values[i]!;
  }
  const tops = { values, most };
  treeCache.set(scene, { growthM, tops });
  return tops;
}

const thingCache = new WeakMap<Scene, { key: string; tops: Tops }>();

/** What stands on the surface and is no building of the scene. */
function thingTops(scene: Scene, eye: Eye, active: readonly boolean[]): Tops {
  const key = `${eye.ownBuilding}:${active.map(Number).join("")}`;
  const known = thingCache.get(scene);
  if (known !== undefined && known.key === key) return known.tops;
  const { hard } = skyIndex(scene);
  const values = new Float32Array(hard.length).fill(-1e9);
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < hard.length; i++) {
    const top = hard[i]!;
    const owner = scene.buildingAt === null ? -1 : scene.buildingAt[i]! - 1;
    if (Number.isNaN(top)) {
      if (owner < 0) values[i] = Number.NaN;
      continue;
    }
    if (owner >= 0 && (owner === eye.ownBuilding || top <= scene.buildings[owner]!.topAmslM + ROOF_NOISE_M)) continue;
    if (!(top - scene.groundM[i]! > STANDS_OUT_M)) continue;
    values[i] = top;
    if (top > most) most = top;
  }
  const tops = { values, most };
  thingCache.set(scene, { key, tops });
  return tops;
}

/** Angle of every building over the azimuths its walls cover: exact crossing of each ray with each wall. */
function buildingAngles(
  scene: Scene,
  eye: Eye,
  active: readonly boolean[],
  turnDeg: number,
  earthM: number,
  out: Layer,
  which: Int32Array,
): void {
  const count = out.tangent.length;
  scene.buildings.forEach((building, n) => {
    if (n === eye.ownBuilding || !active[n]) return;
    for (const polygon of building.polygons)
      for (const ring of polygon)
        for (let i = 1; i < ring.length; i++) {
          const [x1, y1] = [ring[i - 1]![0] - eye.xM, ring[i - 1]![1] - eye.yM];
          const [x2, y2] = [ring[i]![0] - eye.xM, ring[i]![1] - eye.yM];
          const az1 = toDegrees(Math.atan2(x1, y1)) + turnDeg;
          let sweep = toDegrees(Math.atan2(x2, y2)) + turnDeg - az1;
          sweep -= 360 * Math.round(sweep / 360);
          const [from, to] = sweep >= 0 ? [az1, az1 + sweep] : [az1 + sweep, az1];
          for (let k = Math.ceil((from * count) / 360); k <= Math.floor((to * count) / 360); k++) {
            const az = ((k * 360) / count - turnDeg) * DEG;
            const [ex, ey] = [Math.sin(az), Math.cos(az)];
            const cross = (x2 - x1) * ey - (y2 - y1) * ex;
            if (Math.abs(cross) < 1e-12) continue;
            const d = ((x2 - x1) * -y1 + (y2 - y1) * x1) / cross;
            const dist = Math.abs(d);
            const m = ((wrap360((k * 360) / count) * count) / 360) % count;
            const slot = Math.round(m) % count;
            const t = (building.topAmslM - eye.amslM) / Math.max(dist, 1e-3) - dist / (2 * earthM);
            if (t > out.tangent[slot]!) {
              out.tangent[slot] = t;
              out.distance[slot] = dist;
              which[slot] = n;
            }
          }
        }
  });
}
