import { HardstandError } from "../errors/index.ts";
import { createLocalFrame } from "../geodesy/index.ts";
import type { LngLat, LocalFrame } from "../geodesy/types.ts";
import type { LoadedPlan } from "../plan/types.ts";
import type { RasterHandle } from "./raster.ts";
import type { Grid, SceneWarning } from "./scene.ts";

/** Most cells of a working grid: five arrays of this size fit beside a run in the memory a small machine has. */
export const MAX_CELLS = 25_000_000;
/** Coarsest working cell, m: beyond it a footprint means nothing. */
const MAX_CELL_M = 250;
const DEFAULT_MARGIN_M = 200;

export interface Box {
  west: number;
  south: number;
  east: number;
  north: number;
}

interface AnyGeometry {
  type: string;
  coordinates: unknown;
}

function* positions(coordinates: unknown): Generator<LngLat> {
  if (!Array.isArray(coordinates)) return;
  if (typeof coordinates[0] === "number") yield { lng: coordinates[0], lat: coordinates[1] as number };
  else for (const inner of coordinates) yield* positions(inner);
}

function placesOf(features: readonly { geometry: AnyGeometry }[]): LngLat[] {
  return features.flatMap((f) => [...positions(f.geometry.coordinates)]);
}

/** Places a run stands on or looks at: points, parking, drops, pinned spots. Hazards matter only where these are. */
function corePlaces({ plan, points, parking, drops }: LoadedPlan): LngLat[] {
  const pinned = (plan.search?.pinned ?? []).map(({ lng, lat }) => ({ lng, lat }));
  return [...placesOf(points.features), ...placesOf(parking.features), ...placesOf(drops.features), ...pinned];
}

function boxOf(frame: LocalFrame, places: readonly LngLat[]): Box {
  const box = { west: Infinity, south: Infinity, east: -Infinity, north: -Infinity };
  for (const place of places) {
    const { xM, yM } = frame.toXY(place);
    box.west = Math.min(box.west, xM);
    box.east = Math.max(box.east, xM);
    box.south = Math.min(box.south, yM);
    box.north = Math.max(box.north, yM);
  }
  return box;
}

/**
 * The plan's frame: origin in the middle of the box round its points, parking, drops and pinned spots.
 * Features on both sides of the antimeridian are one place. Deterministic in the plan.
 */
export function planFrame(loaded: LoadedPlan): LocalFrame {
  const places = corePlaces(loaded);
  const rough = createLocalFrame(places[0]!);
  const box = boxOf(rough, places);
  const middle = rough.toLngLat({ xM: (box.west + box.east) / 2, yM: (box.south + box.north) / 2 });
  // Seven digits are a centimetre: the origin can be written down and used again.
  const round = (v: number) => Math.round(v * 1e7) / 1e7;
  return createLocalFrame({ lng: round(middle.lng), lat: round(middle.lat) });
}

/** Box inside a raster's four edges: nothing of it is void for the raster being turned against the frame. */
function innerBox(frame: LocalFrame, raster: RasterHandle): Box {
  const line = Array.from({ length: 33 }, (_, i) => i / 32);
  const edge = (at: (f: number) => [col: number, row: number]): Box =>
    boxOf(
      frame,
      line.map((f) => raster.toLngLat(...at(f))),
    );
  const [w, h] = [raster.width, raster.height];
  return {
    west: edge((f) => [-0.5, f * h - 0.5]).east,
    east: edge((f) => [w - 0.5, f * h - 0.5]).west,
    north: edge((f) => [f * w - 0.5, -0.5]).south,
    south: edge((f) => [f * w - 0.5, h - 0.5]).north,
  };
}

/** Box of a raster in the frame; of the part within six degrees, where the frame is sound. Null when it lies farther. */
export function rasterBox(frame: LocalFrame, raster: RasterHandle): Box | null {
  const { lng, lat } = frame.origin;
  const [w, s, east, n] = raster.bounds;
  const e = east < w ? east + 360 : east;
  const turn = Math.round((lng - (w + e) / 2) / 360) * 360;
  const reach = 6;
  const near = w + turn > lng - reach && e + turn < lng + reach && s > lat - reach && n < lat + reach;
  const line = Array.from({ length: 33 }, (_, i) => i / 32);
  if (near) {
    const c = (f: number) => -0.5 + f * raster.width;
    const r = (f: number) => -0.5 + f * raster.height;
    return boxOf(
      frame,
      line.flatMap((f) => [
        raster.toLngLat(c(f), r(0)),
        raster.toLngLat(c(f), r(1)),
        raster.toLngLat(c(0), r(f)),
        raster.toLngLat(c(1), r(f)),
      ]),
    );
  }
  const box = {
    w: Math.max(w + turn, lng - reach),
    e: Math.min(e + turn, lng + reach),
    s: Math.max(s, lat - reach),
    n: Math.min(n, lat + reach),
  };
  if (box.w >= box.e || box.s >= box.n) return null;
  const x = (f: number) => box.w + f * (box.e - box.w);
  const y = (f: number) => box.s + f * (box.n - box.s);
  return boxOf(
    frame,
    line.flatMap((f) => [
      { lng: x(f), lat: box.s },
      { lng: x(f), lat: box.n },
      { lng: box.w, lat: y(f) },
      { lng: box.e, lat: y(f) },
    ]),
  );
}

export function unionBox(frame: LocalFrame, rasters: readonly RasterHandle[]): Box | null {
  const boxes = rasters.map((r) => rasterBox(frame, r)).filter((b) => b !== null);
  if (boxes.length === 0) return null;
  return {
    west: Math.min(...boxes.map((b) => b.west)),
    south: Math.min(...boxes.map((b) => b.south)),
    east: Math.max(...boxes.map((b) => b.east)),
    north: Math.max(...boxes.map((b) => b.north)),
  };
}

const overlap = (a: Box, b: Box): Box => ({
  west: Math.max(a.west, b.west),
  south: Math.max(a.south, b.south),
  east: Math.min(a.east, b.east),
  north: Math.min(a.north, b.north),
});
const grown = (b: Box, by: number): Box => ({
  west: b.west - by,
  south: b.south - by,
  east: b.east + by,
  north: b.north + by,
});
const join = (a: Box, b: Box): Box => ({
  west: Math.min(a.west, b.west),
  south: Math.min(a.south, b.south),
  east: Math.max(a.east, b.east),
  north: Math.max(a.north, b.north),
});
const cellsIn = (b: Box, cellM: number): number => ((b.east - b.west) / cellM) * ((b.north - b.south) / cellM);
const km = (m: number): string => (m / 1000).toFixed(1);

/** Where there is ground: all the rasters' box, or the inside of the first alone where that holds the whole plan. */
function coverBox(frame: LocalFrame, rasters: readonly RasterHandle[], core: Box): Box | null {
  const outer = unionBox(frame, rasters);
  if (outer === null) return null;
  const inner = innerBox(frame, rasters[0]!);
  const cell = Math.max(...rasters[0]!.cellM);
  const slack = 0.02 * Math.max(outer.east - outer.west, outer.north - outer.south) + 2 * cell;
  const near =
    inner.west - outer.west < slack &&
    outer.east - inner.east < slack &&
    inner.south - outer.south < slack &&
    outer.north - inner.north < slack;
  const holds =
    core.west >= inner.west && core.east <= inner.east && core.south >= inner.south && core.north <= inner.north;
  return near && holds ? inner : outer;
}

/** The next rounder cell at or above the wanted one. */
function roundCell(wantedM: number): number {
  const power = 10 ** Math.floor(Math.log10(wantedM));
  return [1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10].map((s) => s * power).find((c) => c >= wantedM * (1 - 1e-9))!;
}

/** Grid inside a box, its lines on whole multiples of the cell; at least one cell. */
export function gridOver(box: Box, cellM: number): Grid {
  const west = Math.ceil(box.west / cellM - 1e-6);
  const north = Math.floor(box.north / cellM + 1e-6);
  return {
    westM: west * cellM,
    northM: north * cellM,
    cellM,
    cols: Math.max(1, Math.floor(box.east / cellM + 1e-6) - west),
    rows: Math.max(1, north - Math.ceil(box.south / cellM - 1e-6)),
  };
}

export interface GridChoice {
  grid: Grid;
  warnings: SceneWarning[];
}

/**
 * Extent and cell of a plan's working grid.
 *
 * Extent: the box round points, parking, drops and pinned spots, and round the donor cells where that does not cost
 * resolution, plus the margin (`terrain.marginM`; default 200 m, on coarse ground 64 cells up to 2 km), cut to where there are rasters.
 * Cell: `terrain.cellM`, else the finest raster's own, coarsened to the next round size where the grid would exceed `maxCells`.
 * Throws terrain.coverage when the plan and the rasters do not meet, plan.too-large when even coarse cells would be too many.
 */
export function chooseGrid(
  loaded: LoadedPlan,
  frame: LocalFrame,
  rasters: readonly RasterHandle[],
  maxCells: number = MAX_CELLS,
): GridChoice {
  const warnings: SceneWarning[] = [];
  const { terrain } = loaded.plan;
  const finest = Math.min(...rasters.map((r) => Math.min(...r.cellM)));
  const wanted = terrain.cellM ?? Number(finest.toPrecision(3));
  const margin = terrain.marginM ?? Math.max(DEFAULT_MARGIN_M, Math.min(64 * wanted, 2000));
  const core = boxOf(frame, corePlaces(loaded));
  const ground = coverBox(frame, rasters, core);
  const cut = ground === null ? null : overlap(grown(core, margin), ground);
  if (ground === null || cut === null || cut.west >= cut.east || cut.south >= cut.north)
    throw new HardstandError("terrain.coverage", "the plan's points and parking lie outside the rasters", {
      where: "terrain",
      received: rasters.map((r) => `${r.file}: ${r.bounds.map((v) => v.toFixed(4)).join(", ")}`).join("; "),
      hint: "add a raster that covers the plan, or check the coordinates",
    });
  let box = cut;
  const donors = placesOf(loaded.donors.features);
  if (donors.length > 0) {
    const withDonors = overlap(join(cut, grown(boxOf(frame, donors), 2 * wanted)), ground);
    if (cellsIn(withDonors, wanted) <= Math.max(maxCells, cellsIn(cut, wanted))) box = withDonors;
    else
      warnings.push({
        code: "terrain.donor-beyond-grid",
        text: `A donor cell lies beyond the working grid of ${km(cut.east - cut.west)} × ${km(cut.north - cut.south)} km; including it would make the cells coarser. The path to it uses the far ground.`,
      });
  }
  let cellM = wanted;
  if (cellsIn(box, wanted) > maxCells) {
    cellM = roundCell(wanted * Math.sqrt(cellsIn(box, wanted) / maxCells));
    if (cellM > MAX_CELL_M)
      throw new HardstandError("plan.too-large", "the plan spans more ground than one run can hold", {
        where: "points, parking",
        received: `${km(box.east - box.west)} × ${km(box.north - box.south)} km`,
        hint: `split it into plans of at most ${km(Math.sqrt(maxCells) * MAX_CELL_M)} km a side`,
      });
    warnings.push({
      code: "terrain.cell-coarsened",
      text: `The working cell is ${cellM} m instead of ${wanted} m: ${km(box.east - box.west)} × ${km(box.north - box.south)} km at ${wanted} m would be ${Math.round(cellsIn(box, wanted) / 1e6)} million cells, more than ${Math.round(maxCells / 1e6)} million.`,
    });
  }
  return { grid: gridOver(box, cellM), warnings };
}
