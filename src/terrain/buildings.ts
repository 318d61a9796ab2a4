import type { LngLat, LocalFrame } from "../geodesy/types.ts";
import type { BuildingCollection, HazardCollection } from "../plan/types.ts";
import { type Footprint, footprintArea, footprintCells, footprintMiddle, type Ring } from "./footprint.ts";
import { type Grid, type HeightSource, nearestCell, type SceneBuilding, type SceneWarning } from "./scene.ts";

/** Height of one floor where only floors are given, m (common practice, no source). */
const FLOOR_M = 3;
/** Height of a building of which nothing is known, m (common practice, no source). */
export const ASSUMED_HEIGHT_M = 6;
/** Half-width given to an obstacle drawn as a line or point, m. */
const THIN_HALF_M = 0.5;
/** Part of a cell a building must cover to be burned where it holds no cell's centre. */
const SMALL_SHARE = 0.25;

/** A number, or a text that is one in metres ("12", "12.5 m"), as open data write heights. */
function metres(value: unknown): number | null {
  if (typeof value === "number") return Number.isFinite(value) ? value : null;
  const text = typeof value === "string" ? /^\s*(-?\d+(?:\.\d+)?)\s*(?:m|metres|meters)?\s*$/i.exec(value) : null;
  return text === null ? null : Number(text[1]);
}

interface BuildingProperties {
  heightM?: number | undefined;
  baseM?: number | undefined;
  floors?: number | undefined;
  heightSource?: HeightSource | undefined;
  [other: string]: unknown;
}

/**
 * Height of a building and where it is from: `heightM`, else the open data fields `height` or `building:levels`,
 * else floors, else assumed.
 */
export function buildingHeight(p: BuildingProperties): { heightM: number; source: HeightSource } {
  const given = p.heightM ?? metres(p.height);
  if (given !== null && given !== undefined && given >= 0)
    return { heightM: given, source: p.heightSource ?? "measured" };
  const floors = p.floors ?? metres(p["building:levels"]);
  if (floors !== null && floors !== undefined && floors > 0) return { heightM: FLOOR_M * floors, source: "floors" };
  return { heightM: ASSUMED_HEIGHT_M, source: "assumed" };
}

interface AnyGeometry {
  type: string;
  coordinates: unknown;
}

/** Polygons of a geometry in the local frame; lines become bands and points squares of a metre. */
export function localPolygons(frame: LocalFrame, geometry: AnyGeometry): Footprint {
  const at = (p: number[]): [number, number] => {
    const { xM, yM } = frame.toXY({ lng: p[0]!, lat: p[1]! } satisfies LngLat);
    return [xM, yM];
  };
  const box = (x: number, y: number, ux: number, uy: number, long: number): Ring => {
    const h = THIN_HALF_M;
    const corner = (a: number, b: number): [number, number] => [x + a * ux - b * uy, y + a * uy + b * ux];
    return [corner(-h, -h), corner(long + h, -h), corner(long + h, h), corner(-h, h), corner(-h, -h)];
  };
  switch (geometry.type) {
    case "Polygon":
      return [(geometry.coordinates as number[][][]).map((ring) => ring.map(at))];
    case "MultiPolygon":
      return (geometry.coordinates as number[][][][]).map((rings) => rings.map((ring) => ring.map(at)));
    case "LineString": {
      const line = (geometry.coordinates as number[][]).map(at);
      return line.slice(1).flatMap((b, i) => {
        const a = line[i]!;
        const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
        return long === 0 ? [] : [[box(a[0], a[1], (b[0] - a[0]) / long, (b[1] - a[1]) / long, long)]];
      });
    }
    default: {
      const [x, y] = at(geometry.coordinates as number[]);
      return [[box(x, y, 1, 0, 0)]];
    }
  }
}

/** Cells a building is burned into: those whose centre it holds; a small one the cell under its middle, if it fills a quarter of it. */
function burnCells(grid: Grid, polygons: Footprint, always: boolean): Uint32Array {
  const cells = footprintCells(grid, polygons);
  if (cells.length > 0) return cells;
  const under = nearestCell(grid, footprintMiddle(polygons));
  const fills = footprintArea(polygons) >= SMALL_SHARE * grid.cellM * grid.cellM;
  return under !== null && (always || fills) ? Uint32Array.of(under.index) : cells;
}

/** Middle value of the known ground in cells; in the cell under the middle when there are none. Void when unknown. */
function groundAt(grid: Grid, groundM: Float32Array, cells: Uint32Array, polygons: Footprint): number {
  const heights = Float64Array.from(cells, (i) => groundM[i]!)
    .filter((z) => !Number.isNaN(z))
    .sort();
  if (heights.length > 0) return heights[Math.floor(heights.length / 2)]!;
  const under = nearestCell(grid, footprintMiddle(polygons));
  return under === null ? Number.NaN : groundM[under.index]!;
}

/** A building or obstacle stands at an instant unless its own dates say otherwise. */
export function standsAt(
  b: { from: string | null; to: string | null },
  whenMs: { from: number; to: number } | null,
): boolean {
  if (whenMs === null) return true;
  return !(b.to !== null && Date.parse(b.to) < whenMs.from) && !(b.from !== null && Date.parse(b.from) > whenMs.to);
}

export interface Burned {
  buildings: SceneBuilding[];
  /** Index + 1 of the building in each cell; the taller where two overlap; null without any. */
  buildingAt: Uint16Array | null;
  warnings: SceneWarning[];
}

/**
 * Buildings and temporary obstacles of a plan in the local frame, and the cells they stand on. Heights are not burned here:
 * `topAmslM` of the building in a cell is to be taken as a maximum.
 * @param groundM  ground on the grid, m AMSL
 * @param whenMs   instants the run is about; an obstacle wholly outside them stays in the list but in no cell
 */
export function placeBuildings(
  grid: Grid,
  frame: LocalFrame,
  groundM: Float32Array,
  buildings: BuildingCollection | null,
  hazards: HazardCollection,
  whenMs: { from: number; to: number } | null,
): Burned {
  const warnings: SceneWarning[] = [];
  const list: SceneBuilding[] = [];
  const cellsOf: Uint32Array[] = [];
  const add = (
    geometry: AnyGeometry,
    b: Omit<SceneBuilding, "polygons" | "baseAmslM" | "topAmslM">,
    baseM: number | undefined,
  ) => {
    const polygons = localPolygons(frame, geometry);
    if (polygons.length === 0) return;
    const cells = burnCells(grid, polygons, b.temporary);
    const found = groundAt(grid, groundM, cells, polygons);
    const baseAmslM = baseM ?? found;
    if (baseM !== undefined && Math.abs(baseM - found) > 10)
      warnings.push({
        code: "terrain.building-base",
        text: `Building ${b.id}: its declared base of ${baseM.toFixed(1)} m is ${Math.abs(baseM - found).toFixed(1)} m from the ground there (${found.toFixed(1)} m).`,
      });
    list.push({ ...b, polygons, baseAmslM, topAmslM: baseAmslM + b.heightM });
    cellsOf.push(cells);
  };
  for (const f of buildings?.features ?? []) {
    const { heightM, source } = buildingHeight(f.properties);
    const id = f.properties.id ?? `building-${list.length + 1}`;
    add(
      f.geometry,
      { id, name: f.properties.name ?? id, heightM, heightSource: source, from: null, to: null, temporary: false },
      f.properties.baseM,
    );
  }
  for (const f of hazards.features) {
    const p = f.properties;
    if (p.kind !== "obstacle") continue;
    const id = p.id ?? `obstacle-${list.length + 1}`;
    add(
      f.geometry,
      {
        id,
        name: p.name ?? id,
        heightM: p.heightM,
        heightSource: "measured",
        from: p.from ?? null,
        to: p.to ?? null,
        temporary: true,
      },
      undefined,
    );
  }
  if (list.length === 0) return { buildings: [], buildingAt: null, warnings };
  return { buildings: list, buildingAt: burn(grid, list, cellsOf, whenMs, warnings), warnings };
}

function burn(
  grid: Grid,
  list: readonly SceneBuilding[],
  cellsOf: readonly Uint32Array[],
  whenMs: { from: number; to: number } | null,
  warnings: SceneWarning[],
): Uint16Array {
  const at = new Uint16Array(new SharedArrayBuffer(grid.cols * grid.rows * 2));
  let small = 0;
  list.forEach((b, k) => {
    if (!standsAt(b, whenMs)) return;
    const middle = nearestCell(grid, footprintMiddle(b.polygons));
    if (cellsOf[k]!.length === 0 && middle !== null) small++;
    for (const i of cellsOf[k]!) {
      const other = at[i]! === 0 ? Number.NEGATIVE_INFINITY : list[at[i]! - 1]!.topAmslM;
      if (!(other >= b.topAmslM)) at[i] = k + 1;
    }
  });
  const assumed = list.filter((b) => b.heightSource === "assumed");
  const floors = list.filter((b) => b.heightSource === "floors").length;
  const groundless = list.filter((b, k) => Number.isNaN(b.topAmslM) && cellsOf[k]!.length > 0);
  if (assumed.length > 0)
    warnings.push({
      code: "terrain.height-assumed",
      text: `${assumed.length} of ${list.length} buildings have no height; ${ASSUMED_HEIGHT_M} m is assumed (${assumed
        .slice(0, 5)
        .map((b) => b.id)
        .join(", ")}${assumed.length > 5 ? ", …" : ""}).`,
    });
  if (floors > 0)
    warnings.push({
      code: "terrain.height-from-floors",
      text: `${floors} of ${list.length} buildings have their height from floors at ${FLOOR_M} m each.`,
    });
  if (small > 0)
    warnings.push({
      code: "terrain.building-small",
      text: `${small} buildings are smaller than a quarter of a ${grid.cellM} m cell and are not in the raster; the sky view still tests their outlines.`,
    });
  if (groundless.length > 0)
    warnings.push({
      code: "terrain.building-no-ground",
      text: `${groundless.length} buildings stand where the ground is unknown (${groundless
        .slice(0, 5)
        .map((b) => b.id)
        .join(", ")}); their tops are unknown too.`,
    });
  return at;
}
