import type { LocalFrame } from "../geodesy/types.ts";
import { compareGroundSurface } from "./compare.ts";
import { closeNarrowGaps, fillGroundUnderSurface } from "./gaps.ts";
import { estimateGround } from "./ground-filter.ts";
import type { RasterHandle } from "./raster.ts";
import { mosaic } from "./reproject.ts";
import type { Grid, SceneWarning } from "./scene.ts";
import { measureSeams, seamWarnings } from "./seams.ts";
import type { WorkHooks } from "./shared.ts";

/** Hooks for a part of the work, from and to a share of all of it. */
export type PartHooks = (from: number, to: number, step: string) => WorkHooks;

export interface Ground {
  groundM: Float32Array;
  /** Greatest ground in each cell; the same array where the grid is as fine as the rasters. */
  topM: Float32Array;
  /** Cell of the coarsest raster used, m. */
  postingM: number;
}

export interface Solid {
  ground: Ground;
  /** Surface as read, narrow gaps closed; null without a surface raster. */
  surfaceM: Float32Array | null;
  groundEstimated: boolean;
  groundFilled: Uint8Array | null;
  warnings: SceneWarning[];
}

interface Rasters {
  ground: readonly RasterHandle[];
  surface: readonly RasterHandle[];
}

const postingOf = (r: RasterHandle): number => Math.max(...r.cellM);
const percent = (share: number): string => `${(share * 100).toFixed(1)} %`;

async function readGround(
  grid: Grid,
  frame: LocalFrame,
  rasters: readonly RasterHandle[],
  hooks: PartHooks,
): Promise<Ground & { warnings: SceneWarning[] }> {
  const step = "reading the ground";
  const { heightsM, source } = await mosaic(grid, frame, rasters, "centre", hooks(0.4, 0.8, step));
  const used = rasters.filter((_, k) => source.includes(k + 1));
  const coarser = used.some((r) => grid.cellM > 1.5 * Math.min(...r.cellM));
  const topM = coarser ? (await mosaic(grid, frame, rasters, "greatest", hooks(0.8, 1, step))).heightsM : heightsM;
  return {
    groundM: heightsM,
    topM,
    postingM: (used.length > 0 ? used : rasters).reduce((most, r) => Math.max(most, postingOf(r)), 0),
    warnings: seamWarnings(measureSeams(heightsM, source, grid, rasters), rasters),
  };
}

/** Ground from a surface alone. */
function groundFrom(surfaceM: Float32Array, grid: Grid, rasters: readonly RasterHandle[]): Solid {
  const { groundM, objectShare } = estimateGround(surfaceM, grid.cols, grid.rows, grid.cellM);
  return {
    ground: { groundM, topM: groundM, postingM: Math.max(...rasters.map(postingOf)) },
    surfaceM,
    groundEstimated: true,
    groundFilled: null,
    warnings: [
      {
        code: "terrain.ground-estimated",
        text: `No ground raster: the ground is estimated from the surface by a progressive morphological filter (objects up to 60 m wide taken off, ${Math.round(objectShare * 100)} % of cells). Slope and antenna heights are estimates.`,
      },
    ],
  };
}

/** Makes ground and surface fit each other: compares them, fills ground under a known surface, closes narrow gaps. */
function reconcile(
  ground: Ground,
  surfaceM: Float32Array,
  grid: Grid,
): { filled: Uint8Array | null; warnings: SceneWarning[] } {
  const warnings = compareGroundSurface(ground.topM, surfaceM);
  const filled = fillGroundUnderSurface(ground.groundM, surfaceM, grid);
  if (filled !== null) {
    for (let i = 0; i < surfaceM.length; i++) if (filled.filled[i] === 1) ground.topM[i] = ground.groundM[i]!;
    warnings.push({
      code: "terrain.ground-filled",
      text: `The ground is void but the surface known on ${percent(filled.share)} of the grid; the ground there is estimated from its surroundings.`,
    });
  }
  const { closedShare, voidShare } = closeNarrowGaps(surfaceM, ground.groundM, grid);
  if (closedShare > 0)
    warnings.push({
      code: "terrain.surface-gaps",
      text: `Gaps of the surface no wider than three cells (${percent(closedShare)} of the grid) take the greatest height beside them.`,
    });
  if (voidShare > 0.0005)
    warnings.push({
      code: "terrain.surface-void",
      text: `The surface is unknown on ${percent(voidShare)} of the working grid though the ground is known; what stands there is unknown, and paths over it are answered so. Where bare earth may stand in, name the ground raster last under surface.`,
    });
  return { filled: filled?.filled ?? null, warnings };
}

/**
 * Ground and surface on the grid, held against each other.
 * @param rasters  in one vertical datum; at least one of either kind
 */
export async function readSolid(grid: Grid, frame: LocalFrame, rasters: Rasters, hooks: PartHooks): Promise<Solid> {
  const surface =
    rasters.surface.length === 0
      ? null
      : await mosaic(grid, frame, rasters.surface, "greatest", hooks(0, 0.4, "reading the surface"));
  const seams =
    surface === null
      ? []
      : seamWarnings(measureSeams(surface.heightsM, surface.source, grid, rasters.surface), rasters.surface);
  if (rasters.ground.length === 0) {
    const solid = groundFrom(surface!.heightsM, grid, rasters.surface);
    return { ...solid, warnings: [...seams, ...solid.warnings] };
  }
  const { warnings, ...ground } = await readGround(grid, frame, rasters.ground, hooks);
  const fitted = surface === null ? { filled: null, warnings: [] } : reconcile(ground, surface.heightsM, grid);
  return {
    ground,
    surfaceM: surface?.heightsM ?? null,
    groundEstimated: false,
    groundFilled: fitted.filled,
    warnings: [...seams, ...warnings, ...fitted.warnings],
  };
}
