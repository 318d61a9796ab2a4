import { HardstandError } from "../errors/index.ts";
import { checkCoordinates } from "../plan/checks/index.ts";
import type { LoadedPlan } from "../plan/types.ts";
import { placeBuildings } from "./buildings.ts";
import { groundLooksLikeSurface, knownSurfaceSets } from "./compare.ts";
import { readCover } from "./cover.ts";
import { chooseGrid, MAX_CELLS, planFrame } from "./extent.ts";
import { farField } from "./far-field.ts";
import { addGrowth, composeLayers } from "./layers.ts";
import type { RasterHandle } from "./raster.ts";
import type { Scene, SceneWarning } from "./scene.ts";
import type { WorkHooks } from "./shared.ts";
import { readSolid } from "./solid.ts";
import { egm96, type Geoid, settleDatums } from "./vertical.ts";

/** A plan's rasters, opened, in the order in which the first with data wins. */
export interface SceneRasters {
  ground: readonly RasterHandle[];
  surface: readonly RasterHandle[];
  canopy: readonly RasterHandle[];
  /** Class codes as the plan's scheme numbers them. */
  landCover?: readonly RasterHandle[];
}

export interface SceneOptions {
  /** Name of the plan's file, for messages. Default "plan". */
  planFile?: string;
  /** Most cells of the working grid; default 25 million. */
  maxCells?: number;
  /** Coarse ground beyond the grid; default true. */
  far?: boolean;
  /** Instant (ISO 8601) the run is about: obstacles with dates of their own stand or not. Default: the plan's day, else all stand. */
  when?: string;
  signal?: AbortSignal;
  onProgress?: (share: number, step: string) => void;
  /** Undulation of the geoid above the ellipsoid; default EGM96. */
  geoid?: () => Promise<Geoid>;
}

/** Instants a run is about: the one given, the plan's whole day, or none. */
function instants(loaded: LoadedPlan, when: string | undefined): { from: number; to: number } | null {
  if (when !== undefined) return { from: Date.parse(when), to: Date.parse(when) };
  if (loaded.plan.date === undefined) return null;
  const from = Date.parse(`${loaded.plan.date}T00:00:00Z`);
  // The plan's day is a local one somewhere on Earth: half a day on either side belongs to it.
  return { from: from - 12 * 3_600_000, to: from + 36 * 3_600_000 };
}

function hooksFor(options: SceneOptions, from: number, to: number, step: string): WorkHooks {
  return {
    signal: options.signal,
    onProgress: (share) => options.onProgress?.(from + (to - from) * share, step),
  };
}

function shareVoid(values: Float32Array): number {
  let n = 0;
  for (const z of values) if (Number.isNaN(z)) n++;
  return n / values.length;
}

/**
 * Everything a run needs to know of the ground, on one grid in the plan's frame.
 *
 * Ground is taken at cell centres (bilinear; where antennas stand), surface as the greatest of each cell where the grid
 * is coarser than the raster, and so is the ground that obstructs: no ridge and no wall is averaged away. Per cell the first
 * raster with data wins. Unequal datums, feet for metres, constant offsets stop the run; what is missing, estimated or
 * assumed is in `warnings`. With a surface alone, ground is a filter's estimate and `groundEstimated` says so.
 *
 * @param rasters  opened rasters, heights in metres, voids NaN
 * @returns arrays in SharedArrayBuffers; NaN is unknown everywhere
 * Throws terrain.coverage, terrain.units-disagree, terrain.datum-mixed, plan.coordinates-swapped, plan.coordinates-far,
 * plan.too-large, run.cancelled.
 */
export async function buildScene(
  loaded: LoadedPlan,
  rasters: SceneRasters,
  options: SceneOptions = {},
): Promise<Scene> {
  const planFile = options.planFile ?? "plan";
  const { terrain } = loaded.plan;
  const heights = [...rasters.ground, ...rasters.surface];
  if (heights.length === 0)
    throw new HardstandError("terrain.coverage", "there is no ground and no surface raster", {
      where: `${planFile}: terrain`,
      received: "0 rasters",
      hint: "name at least one under terrain.ground or terrain.surface",
    });
  checkCoordinates(
    loaded,
    planFile,
    heights.map((r) => r.bounds),
  );
  const settled = await settleDatums(rasters.ground, rasters.surface, options.geoid ?? egm96);
  const frame = planFrame(loaded);
  const { grid, warnings: gridWarnings } = chooseGrid(
    loaded,
    frame,
    [...settled.ground, ...settled.surface],
    options.maxCells ?? MAX_CELLS,
  );
  const warnings: SceneWarning[] = [
    ...heights.flatMap((r) => r.warnings.map((w) => ({ code: w.code, text: `${r.file}: ${w.text}` }))),
    // Heights above ground have no datum: what is doubtful about it is no matter here.
    ...rasters.canopy.flatMap((r) =>
      r.warnings
        .filter((w) => !/datum-unknown/.test(w.code))
        .map((w) => ({ code: w.code, text: `${r.file}: ${w.text}` })),
    ),
    ...settled.warnings,
    ...gridWarnings,
    ...knownSurfaceSets(rasters.ground.map((r) => r.file)),
  ];

  const solid = await readSolid(grid, frame, settled, (from, to, step) =>
    hooksFor(options, 0.7 * from, 0.7 * to, step),
  );
  const { ground, groundEstimated, groundFilled } = solid;
  warnings.push(...solid.warnings);
  const cover = await readCover(
    loaded,
    rasters,
    grid,
    frame,
    solid.surfaceM !== null,
    hooksFor(options, 0.7, 0.85, "reading the canopy"),
  );
  const { canopyM } = cover;
  warnings.push(...cover.warnings);

  const burned = placeBuildings(
    grid,
    frame,
    ground.groundM,
    loaded.buildings,
    loaded.hazards,
    instants(loaded, options.when),
  );
  warnings.push(...burned.warnings);
  if (!groundEstimated && ground.postingM <= 5)
    warnings.push(
      ...groundLooksLikeSurface(ground.groundM, grid, loaded.buildings === null ? null : burned.buildingAt),
    );
  const growthM = terrain.canopyGrowthM ?? 0;
  const houses = cover.housesM;
  const layers = composeLayers(
    grid,
    ground.groundM,
    ground.topM,
    solid.surfaceM ?? (houses === null ? null : ground.topM.map((z, i) => z + houses[i]!)),
    canopyM,
    growthM,
    burned.buildings,
    burned.buildingAt,
  );
  if (canopyM !== null) addGrowth(canopyM, growthM);

  const groundVoid = shareVoid(ground.groundM);
  if (groundVoid > 0.0005)
    warnings.push({
      code: "terrain.ground-void",
      text: `The ground is unknown on ${(groundVoid * 100).toFixed(1)} % of the working grid; paths over it are answered as unknown.`,
    });
  const built = burned.buildings.some((b) => !b.temporary) || houses !== null;
  warnings.push(...missingLayers(solid.surfaceM !== null, canopyM !== null, built));
  const farGround = settled.ground.length > 0 ? settled.ground : settled.surface;
  const far =
    options.far === false
      ? null
      : await farField(grid, frame, farGround, hooksFor(options, 0.85, 1, "reading the far ground"));
  options.onProgress?.(1, "ground ready");
  return {
    frame,
    grid,
    groundM: ground.groundM,
    surfaceM: layers.surfaceM,
    bareSurfaceM: layers.bareSurfaceM,
    canopyM,
    buildings: burned.buildings,
    buildingAt: burned.buildingAt,
    groundEstimated,
    ...(groundFilled === null ? {} : { groundFilled }),
    groundPostingM: ground.postingM,
    hasSurface: solid.surfaceM !== null || built || canopyM !== null,
    farField: far,
    warnings,
  };
}

function missingLayers(surface: boolean, canopy: boolean, buildings: boolean): SceneWarning[] {
  if (!surface && !canopy && !buildings)
    return [{ code: "terrain.bare-earth", text: "Bare earth only: trees and buildings are not in it." }];
  if (surface && !canopy) return [{ code: "terrain.no-canopy", text: "No canopy layer: trees count as solid." }];
  if (!surface && !canopy)
    return [{ code: "terrain.no-trees", text: "No surface and no canopy layer: trees are not in it." }];
  if (!surface && !buildings)
    return [{ code: "terrain.no-buildings", text: "No surface and no buildings: only ground and trees are in it." }];
  return [];
}
