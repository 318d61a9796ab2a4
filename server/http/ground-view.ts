import { createHash } from "node:crypto";
import type { CanopyCollection, ContourCollection, Dataset, GroundAnswer } from "../../src/plan/http.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import { contourLines, contourStep, outlines, reduce } from "../../src/report/contours.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import type { Engine } from "../engine.ts";
import type { Ground } from "../jobs/ground-desk.ts";
import { gridBounds, zoomRange } from "./tiles/tile-grid.ts";

/** Lines are drawn from at most this many cells a side: finer ones only make heavier lines on a map of the whole plan. */
const CONTOUR_CELLS = 800;
const CANOPY_CELLS = 700;
/** Trees lower than this neither hide an antenna nor are they drawn. */
const CANOPY_LEAST_M = 2;
const MAJOR_EVERY = 5;

/** Degrees to about a centimetre: more would be noise in the file. */
const round7 = (v: number): number => Math.round(v * 1e7) / 1e7;

function range(heights: Float32Array): { minM: number; maxM: number } | null {
  let minM = Number.POSITIVE_INFINITY;
  let maxM = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < heights.length; i++) {
    const h = heights[i]!;
    if (h < minM) minM = h;
    if (h > maxM) maxM = h;
  }
  return minM <= maxM ? { minM, maxM } : null;
}

const WORDS = {
  ground: "Ground",
  surface: "Surface",
  canopy: "Trees",
  landCover: "Land cover",
  buildings: "Buildings",
} as const;

/** What the plan itself says of its rasters; the engine may know more. */
export function datasetsOf(loaded: LoadedPlan, scene: Scene): Dataset[] {
  const { terrain } = loaded.plan;
  const rows: Dataset[] = [];
  const add = (kind: Dataset["kind"], entry: NonNullable<typeof terrain.ground>[number], cellM: number | null) => {
    const known = typeof entry === "string" ? { file: entry } : entry;
    const date = "date" in known ? (known.date ?? null) : null;
    const cell = cellM === null ? "" : ` ${Math.round(cellM * 100) / 100} m`;
    rows.push({
      kind,
      file: known.file,
      cellM,
      date,
      verticalDatum: ("verticalDatum" in known ? known.verticalDatum : undefined) ?? "unknown",
      text: `${WORDS[kind]}${cell}, ${date ?? "date not given"}`,
    });
  };
  for (const entry of terrain.ground ?? []) add("ground", entry, scene.groundPostingM);
  for (const entry of terrain.surface ?? []) add("surface", entry, null);
  for (const entry of terrain.canopy ?? []) add("canopy", entry, null);
  for (const file of terrain.landCover?.files ?? []) add("landCover", file, null);
  if (terrain.buildings !== undefined)
    rows.push({
      kind: "buildings",
      file: terrain.buildings,
      cellM: null,
      date: null,
      verticalDatum: "unknown",
      text: `${WORDS.buildings} ${scene.buildings.length}`,
    });
  return rows;
}

export function groundAnswer(engine: Engine, { loaded, scene }: Ground): GroundAnswer {
  const { frame, grid } = scene;
  const bounds = gridBounds(frame, grid);
  const heights = range(scene.groundM);
  return {
    bounds,
    origin: { lng: frame.origin.lng, lat: frame.origin.lat },
    grid: { cols: grid.cols, rows: grid.rows, cellM: grid.cellM, westM: grid.westM, northM: grid.northM },
    minM: heights?.minM ?? null,
    maxM: heights?.maxM ?? null,
    ...zoomRange(bounds, grid),
    contourStepM: heights === null ? 1 : contourStep(heights.minM, heights.maxM),
    datasets: engine.datasets?.(loaded, scene) ?? datasetsOf(loaded, scene),
    hasCanopy: scene.canopyM !== null,
    hasSurface: scene.hasSurface,
    warnings: [...loaded.warnings, ...scene.warnings],
  };
}

const contours = new WeakMap<Scene, ContourCollection>();
const canopies = new WeakMap<Scene, CanopyCollection>();

export function contoursOf(scene: Scene): ContourCollection {
  const known = contours.get(scene);
  if (known !== undefined) return known;
  const heights = range(scene.groundM);
  const features: ContourCollection["features"] = [];
  if (heights !== null) {
    const stepM = contourStep(heights.minM, heights.maxM);
    const coarse = reduce(scene.grid, scene.groundM, CONTOUR_CELLS);
    for (const line of contourLines(coarse.grid, coarse.values, stepM))
      features.push({
        type: "Feature",
        geometry: { type: "LineString", coordinates: line.points.map((p) => degrees(scene, p)) },
        properties: { heightM: line.heightM, major: Math.round(line.heightM / stepM) % MAJOR_EVERY === 0 },
      });
  }
  const made: ContourCollection = { type: "FeatureCollection", features };
  contours.set(scene, made);
  return made;
}

function degrees(scene: Scene, [xM, yM]: [number, number]): number[] {
  const p = scene.frame.toLngLat({ xM, yM });
  return [round7(p.lng), round7(p.lat)];
}

export function canopyOf(scene: Scene): CanopyCollection {
  const known = canopies.get(scene);
  if (known !== undefined) return known;
  const features: CanopyCollection["features"] = [];
  if (scene.canopyM !== null) {
    const coarse = reduce(scene.grid, scene.canopyM, CANOPY_CELLS);
    for (const polygon of outlines(coarse.grid, coarse.values, CANOPY_LEAST_M))
      features.push({
        type: "Feature",
        geometry: { type: "Polygon", coordinates: polygon.map((ring) => ring.map((p) => degrees(scene, p))) },
        properties: { leastHeightM: CANOPY_LEAST_M },
      });
  }
  const made: CanopyCollection = { type: "FeatureCollection", features };
  canopies.set(scene, made);
  return made;
}

const tags = new WeakMap<Scene, string>();

/**
 * A tag that changes with the ground and with nothing else: moving a point leaves the map's tiles as they are.
 * The heights themselves are hashed, so that it does not depend on how the scene came about.
 */
export function groundTag(scene: Scene): string {
  let tag = tags.get(scene);
  if (tag === undefined) {
    const hash = createHash("sha256").update(JSON.stringify([scene.grid, scene.frame.origin]));
    for (const array of [scene.groundM, scene.surfaceM])
      hash.update(new Uint8Array(array.buffer, array.byteOffset, array.byteLength));
    tag = `"${hash.digest("base64url").slice(0, 22)}"`;
    tags.set(scene, tag);
  }
  return tag;
}
