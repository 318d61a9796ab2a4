import { HardstandError } from "../errors/index.ts";
import type { Grid, SceneBuilding, SceneWarning } from "./scene.ts";
import { sharedHeights } from "./shared.ts";

/** Taller vegetation than any (m): a canopy raster that holds more is of something else. */
const TALLEST_M = 130;
/** Surface this little above ground and canopy is taken for the canopy itself, m. */
const CANOPY_SLACK_M = 1;
/** Vegetation lower than this does not grow in the growth allowance, m. */
const LEAST_TREE_M = 1;

/**
 * Sets vegetation heights right: negative to nought, impossible ones to void.
 * Throws terrain.units-disagree when most of it is impossibly tall: heights above the sea, not above ground.
 */
export function settleCanopy(canopyM: Float32Array, file: string): SceneWarning[] {
  let known = 0;
  let tall = 0;
  for (let i = 0; i < canopyM.length; i++) {
    const h = canopyM[i]!;
    if (Number.isNaN(h)) continue;
    known++;
    if (h < 0) canopyM[i] = 0;
    if (h > TALLEST_M) {
      tall++;
      canopyM[i] = Number.NaN;
    }
  }
  if (known > 0 && tall / known > 0.2)
    throw new HardstandError("terrain.units-disagree", "the canopy raster does not hold heights above ground", {
      where: "terrain.canopy",
      received: `${file}: ${Math.round((100 * tall) / known)} % of it above ${TALLEST_M} m`,
      hint: 'canopy is the height of vegetation above ground; a raster of treetops above the sea belongs under "surface"',
    });
  const share = 1 - known / canopyM.length;
  return share > 0.001
    ? [
        {
          code: "terrain.canopy-void",
          text: `The canopy is unknown on ${(share * 100).toFixed(1)} % of the working grid; trees there are only what the surface shows.`,
        },
      ]
    : [];
}

export interface Layers {
  surfaceM: Float32Array;
  bareSurfaceM: Float32Array;
}

/**
 * Composes what stands on the ground, by maxima, never by sums.
 * With canopy solid: the greatest of ground, surface, ground + canopy (+ growth), building top.
 * With canopy absent: a surface no higher than ground + canopy + 1 m becomes ground; buildings stay.
 * Void ground or void surface stays void, save that a building's top is known.
 * @param groundM   bare earth at cell centres
 * @param topM      greatest ground in each cell (the same array where the grid is as fine as the raster)
 * @param rawM      surface as read; null without a surface raster
 * @param canopyM   vegetation as measured; null without
 * @param growthM   growth since
 */
export function composeLayers(
  grid: Grid,
  groundM: Float32Array,
  topM: Float32Array,
  rawM: Float32Array | null,
  canopyM: Float32Array | null,
  growthM: number,
  buildings: readonly SceneBuilding[],
  buildingAt: Uint16Array | null,
): Layers {
  const n = grid.cols * grid.rows;
  const surfaceM = sharedHeights(n);
  const bareSurfaceM = canopyM === null ? surfaceM : sharedHeights(n);
  for (let i = 0; i < n; i++) {
    const ground = groundM[i]!;
    const low = Math.max(ground, topM[i]!);
    const raw = rawM === null ? low : Math.max(rawM[i]!, low);
    const canopy = canopyM === null || Number.isNaN(canopyM[i]!) ? 0 : canopyM[i]!;
    const grown = canopy >= LEAST_TREE_M ? canopy + growthM : canopy;
    let solid = Math.max(raw, ground + grown);
    let bare = canopyM !== null && raw <= low + canopy + CANOPY_SLACK_M ? low : raw;
    const k = buildingAt === null ? 0 : buildingAt[i]!;
    if (k !== 0) {
      const top = buildings[k - 1]!.topAmslM;
      if (!Number.isNaN(top)) {
        // A void below is no bar: the top of the building is known.
        if (!(solid >= top)) solid = top;
        if (!(bare >= top)) bare = top;
      }
    }
    surfaceM[i] = solid;
    bareSurfaceM[i] = bare;
  }
  return { surfaceM, bareSurfaceM };
}

/** Vegetation with its growth added, as radio and sky see it. */
export function addGrowth(canopyM: Float32Array, growthM: number): void {
  if (growthM === 0) return;
  for (let i = 0; i < canopyM.length; i++) if (canopyM[i]! >= LEAST_TREE_M) canopyM[i]! += growthM;
}
