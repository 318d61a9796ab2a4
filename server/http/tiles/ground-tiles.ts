import type { Scene } from "../../../src/terrain/scene.ts";
import { fillVoids } from "./fill-voids.ts";
import { encodePng } from "./png.ts";
import { reliefInto } from "./relief.kernel.ts";
import { heightsInto, meansInto, shadesInto } from "./sample.kernel.ts";
import { TILE, type TileCells, tileCells } from "./tile-grid.ts";

/** Light from the north-west, as maps have it; half-way up. */
const LIGHT_AZIMUTH_DEG = 315;
const LIGHT_ALTITUDE_DEG = 45;

const filled = new WeakMap<Scene, { heights: Float32Array | null }>();
const shaded = new WeakMap<Scene, Uint8Array>();

function filledGround(scene: Scene): Float32Array | null {
  let known = filled.get(scene);
  if (known === undefined) {
    known = { heights: fillVoids(scene.groundM, scene.grid.cols, scene.grid.rows) };
    filled.set(scene, known);
  }
  return known.heights;
}

function relief(scene: Scene): Uint8Array {
  let known = shaded.get(scene);
  if (known === undefined) {
    const { cols, rows, cellM } = scene.grid;
    known = new Uint8Array(cols * rows);
    reliefInto(scene.surfaceM, cols, rows, cellM, LIGHT_AZIMUTH_DEG, LIGHT_ALTITUDE_DEG, known);
    shaded.set(scene, known);
  }
  return known;
}

/** Half-width of the window a pixel covers, cells; 0 where a pixel is no wider than a cell and a half. */
const reachOf = (cells: TileCells): number => (cells.cellsPerPixel < 1.5 ? 0 : Math.floor(cells.cellsPerPixel / 2));

/**
 * Ground of a tile with heights in the colour channels: height = red·256 + green + blue/256 − 32768 m.
 * Voids are filled and the edge goes on outward, so that relief made from it shows no false cliffs.
 * @returns PNG; null when the tile lies outside the plan's grid or no ground is known
 */
export async function terrainTile(scene: Scene, z: number, x: number, y: number): Promise<Buffer | null> {
  const cells = tileCells(scene.frame, scene.grid, z, x, y);
  const ground = cells === null ? null : filledGround(scene);
  if (cells === null || ground === null) return null;
  const heights = new Float32Array(TILE * TILE);
  const reach = reachOf(cells);
  const { cols, rows } = scene.grid;
  if (reach === 0) heightsInto(ground, cols, rows, cells.cols, cells.rows, heights);
  else meansInto(ground, cols, rows, cells.cols, cells.rows, reach, heights);
  const pixels = new Uint8Array(TILE * TILE * 3);
  for (let k = 0; k < heights.length; k++) {
    const v = Math.round((heights[k]! + 32768) * 256);
    pixels[3 * k] = v >> 16;
    pixels[3 * k + 1] = v >> 8;
    pixels[3 * k + 2] = v;
  }
  return encodePng({ kind: "rgb", width: TILE, height: TILE, pixels });
}

/**
 * Shaded relief of the surface, grey; transparent where nothing is known and outside the grid.
 * @returns PNG; null when the tile lies outside the plan's grid
 */
export async function reliefTile(scene: Scene, z: number, x: number, y: number): Promise<Buffer | null> {
  const cells = tileCells(scene.frame, scene.grid, z, x, y);
  if (cells === null) return null;
  const shades = new Uint8Array(TILE * TILE);
  shadesInto(relief(scene), scene.grid.cols, scene.grid.rows, cells.cols, cells.rows, reachOf(cells), shades);
  const pixels = new Uint8Array(TILE * TILE * 2);
  for (let k = 0; k < shades.length; k++) {
    pixels[2 * k] = shades[k]!;
    pixels[2 * k + 1] = shades[k] === 0 ? 0 : 255;
  }
  return encodePng({ kind: "greyAlpha", width: TILE, height: TILE, pixels });
}
