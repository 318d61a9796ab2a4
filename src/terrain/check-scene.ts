import { HardstandError } from "../errors/index.ts";
import type { LngLat } from "../geodesy/types.ts";
import type { LoadedPlan } from "../plan/types.ts";
import { localPolygons } from "./buildings.ts";
import { footprintCells, footprintMiddle } from "./footprint.ts";
import { nearestCell, type Scene, type SceneWarning } from "./scene.ts";

interface AnyFeature {
  geometry: { type: string; coordinates: unknown };
  properties: { id?: string | undefined; name?: string | undefined };
}

function* positions(coordinates: unknown): Generator<LngLat> {
  if (!Array.isArray(coordinates)) return;
  if (typeof coordinates[0] === "number") yield { lng: coordinates[0], lat: coordinates[1] as number };
  else for (const inner of coordinates) yield* positions(inner);
}

const nameOf = (f: AnyFeature): string => f.properties.name ?? f.properties.id ?? "?";
const shown = (p: LngLat): string => `[${p.lng}, ${p.lat}]`;

interface Where {
  scene: Scene;
  /** File and collection, as "plan.json: points.". */
  at: string;
}

function outside({ scene, at }: Where, f: AnyFeature, index: number, place: LngLat): never {
  const { grid, frame } = scene;
  const corner = (x: number, y: number) => {
    const p = frame.toLngLat({ xM: x, yM: y });
    return `${p.lng.toFixed(5)}, ${p.lat.toFixed(5)}`;
  };
  throw new HardstandError("plan.geometry-outside", `${nameOf(f)} lies outside the rasters`, {
    where: `${at}features[${index}].geometry (${nameOf(f)})`,
    received: shown(place),
    hint: `the rasters cover ${corner(grid.westM, grid.northM - grid.rows * grid.cellM)} to ${corner(grid.westM + grid.cols * grid.cellM, grid.northM)}; add a raster, or move it`,
  });
}

function nodata({ at }: Where, f: AnyFeature, index: number, received: string): never {
  throw new HardstandError("plan.point-on-nodata", `${nameOf(f)} stands where the ground is unknown`, {
    where: `${at}features[${index}].geometry (${nameOf(f)})`,
    received,
    hint: "the raster has no data there; move it, or add a raster that has",
  });
}

/** Cells of an area on the grid, or null for a point or line. */
function areaCells(scene: Scene, f: AnyFeature): Uint32Array | null {
  if (f.geometry.type !== "Polygon" && f.geometry.type !== "MultiPolygon") return null;
  const polygons = localPolygons(scene.frame, f.geometry);
  const cells = footprintCells(scene.grid, polygons);
  if (cells.length > 0) return cells;
  // Smaller than a cell: the cell under its middle stands for it.
  const under = nearestCell(scene.grid, footprintMiddle(polygons));
  return under === null ? cells : Uint32Array.of(under.index);
}

function checkOne(where: Where, f: AnyFeature, index: number): SceneWarning[] {
  const { scene } = where;
  const places = [...positions(f.geometry.coordinates)];
  for (const place of places)
    if (nearestCell(scene.grid, scene.frame.toXY(place)) === null) outside(where, f, index, place);
  const cells =
    areaCells(scene, f) ?? Uint32Array.from(places, (p) => nearestCell(scene.grid, scene.frame.toXY(p))!.index);
  const unknown = cells.filter((i) => Number.isNaN(scene.groundM[i]!)).length;
  if (unknown === cells.length && cells.length > 0) nodata(where, f, index, shown(places[0]!));
  if (unknown === 0) return [];
  return [
    {
      code: "plan.area-part-unknown",
      text: `${nameOf(f)}: the ground is unknown on ${Math.max(1, Math.round((100 * unknown) / cells.length))} % of it.`,
    },
  ];
}

/**
 * Checks of a plan that need the ground: points and parking outside the rasters (plan.geometry-outside) or on unknown
 * ground (plan.point-on-nodata), parking without a cell of known ground (plan.no-parking).
 * @param planFile  name of the plan's file, for messages
 * @returns warnings, as for an area of which a part is unknown
 */
export function checkAgainstScene(loaded: LoadedPlan, scene: Scene, planFile = "plan"): SceneWarning[] {
  const place = (inlineOrFile: unknown, path: string): string =>
    typeof inlineOrFile === "string" ? `${inlineOrFile}: ` : `${planFile}: ${path}.`;
  const warnings: SceneWarning[] = [];
  const collection = (path: string, inlineOrFile: unknown, features: readonly unknown[]) => {
    const where = { scene, at: place(inlineOrFile, path) };
    features.forEach((f, i) => {
      warnings.push(...checkOne(where, f as AnyFeature, i));
    });
  };
  const { plan } = loaded;
  collection("points", plan.points, loaded.points.features);
  collection("parking", plan.parking, loaded.parking.features);
  if (plan.backhaul?.drops !== undefined) collection("backhaul.drops", plan.backhaul.drops, loaded.drops.features);
  const known = loaded.parking.features.some((f) => {
    const cells = areaCells(scene, f as AnyFeature);
    if (cells === null) return true;
    return cells.some((i) => !Number.isNaN(scene.groundM[i]!));
  });
  if (!known)
    throw new HardstandError("plan.no-parking", "no cell of the parking has known ground", {
      where: `${planFile}: parking`,
      received: `${loaded.parking.features.length} areas`,
      hint: "draw parking where the rasters have data",
    });
  return warnings;
}
