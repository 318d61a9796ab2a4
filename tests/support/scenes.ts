import proj4 from "proj4";
import type { LngLat, LocalFrame } from "../../src/geodesy/types.ts";
import type { Scene, SceneBuilding } from "../../src/terrain/scene.ts";

/** A transverse Mercator frame with k = 1 through proj4: independent of the project's own frame. */
export function testFrame(origin: LngLat): LocalFrame {
  const def = `+proj=tmerc +lat_0=${origin.lat} +lon_0=${origin.lng} +k=1 +x_0=0 +y_0=0 +ellps=WGS84 +units=m +no_defs`;
  const through = proj4("EPSG:4326", def);
  const rad = Math.PI / 180;
  return {
    origin,
    toXY(place) {
      const [xM, yM] = through.forward([place.lng, place.lat]);
      return { xM: xM!, yM: yM! };
    },
    toLngLat(place) {
      const [lng, lat] = through.inverse([place.xM, place.yM]);
      return { lng: lng!, lat: lat! };
    },
    convergenceDeg: (place) => Math.atan(Math.tan((place.lng - origin.lng) * rad) * Math.sin(place.lat * rad)) / rad,
  };
}

export type Ring = [number, number][];

export const box = (west: number, south: number, east: number, north: number): Ring => [
  [west, south],
  [east, south],
  [east, north],
  [west, north],
  [west, south],
];

export interface SceneRecipe {
  origin?: LngLat;
  cols?: number;
  rows?: number;
  cellM?: number;
  /** Bare ground at a place in the frame, m AMSL; default 100 everywhere. */
  ground?: (x: number, y: number) => number;
  /** Anything else solid: its top, m AMSL, or NaN-free −Infinity for nothing. */
  solid?: (x: number, y: number) => number;
  /** Vegetation height above ground; leave out for a scene without a canopy raster. */
  canopy?: (x: number, y: number) => number;
  /** True where the surface is void. */
  hole?: (x: number, y: number) => boolean;
  buildings?: { id: string; ring: Ring; heightM: number; from?: string; to?: string; temporary?: boolean }[];
  hasSurface?: boolean;
  farField?: Scene["farField"];
}

export function inside(ring: Ring, x: number, y: number): boolean {
  let odd = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i]!;
    const [xj, yj] = ring[j]!;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
  }
  return odd;
}

/** A made-up scene, its grid centred on the frame's origin. Buildings are burned in as maximum, canopy stands on ground. */
export function makeScene(recipe: SceneRecipe = {}): Scene {
  const { cols = 201, rows = 201, cellM = 1 } = recipe;
  const origin = recipe.origin ?? { lng: -97, lat: 42 };
  const grid = { westM: (-cols * cellM) / 2, northM: (rows * cellM) / 2, cellM, cols, rows };
  const n = cols * rows;
  const groundM = new Float32Array(n);
  const surfaceM = new Float32Array(n);
  const bareSurfaceM = recipe.canopy ? new Float32Array(n) : surfaceM;
  const canopyM = recipe.canopy ? new Float32Array(n) : null;
  const buildingAt = recipe.buildings?.length ? new Uint16Array(n) : null;
  const groundAt = recipe.ground ?? (() => 100);
  const centre = (ring: Ring) => {
    const xs = ring.slice(1).map((p) => p[0]);
    const ys = ring.slice(1).map((p) => p[1]);
    return groundAt(xs.reduce((a, b) => a + b) / xs.length, ys.reduce((a, b) => a + b) / ys.length);
  };
  const buildings: SceneBuilding[] = (recipe.buildings ?? []).map((b) => ({
    id: b.id,
    name: b.id,
    polygons: [[b.ring]],
    heightM: b.heightM,
    heightSource: "measured",
    baseAmslM: centre(b.ring),
    topAmslM: centre(b.ring) + b.heightM,
    from: b.from ?? null,
    to: b.to ?? null,
    temporary: b.temporary ?? false,
  }));
  for (let row = 0; row < rows; row++)
    for (let col = 0; col < cols; col++) {
      const i = row * cols + col;
      const x = grid.westM + (col + 0.5) * cellM;
      const y = grid.northM - (row + 0.5) * cellM;
      const ground = groundAt(x, y);
      groundM[i] = ground;
      let bare = Math.max(ground, recipe.solid?.(x, y) ?? Number.NEGATIVE_INFINITY);
      buildings.forEach((b, k) => {
        if (!inside(b.polygons[0]![0]!, x, y)) return;
        bare = Math.max(bare, b.topAmslM);
        buildingAt![i] = k + 1;
      });
      const canopy = recipe.canopy?.(x, y) ?? 0;
      if (canopyM) canopyM[i] = canopy;
      bareSurfaceM[i] = recipe.hole?.(x, y) ? Number.NaN : bare;
      surfaceM[i] = recipe.hole?.(x, y) ? Number.NaN : Math.max(bare, ground + canopy);
    }
  return {
    frame: testFrame(origin),
    grid,
    groundM,
    surfaceM,
    bareSurfaceM,
    canopyM,
    buildings,
    buildingAt,
    groundEstimated: false,
    groundPostingM: cellM,
    hasSurface: recipe.hasSurface ?? true,
    farField: recipe.farField ?? null,
    warnings: [],
  };
}
