import type { z } from "zod";
import type { LngLat } from "../../src/geodesy/types.ts";
import type { terrainAnswer } from "../../src/plan/outputs/terrain.ts";
import { sampleWindow } from "../../src/terrain/sample.ts";
import { CachedRaster } from "./handle.ts";
import { type OpenOptions, openCache } from "./index.ts";
import { verdictOf, warningsOf } from "./verdict.ts";

type TerrainAnswer = z.infer<typeof terrainAnswer>;

export interface DescribeOptions extends Omit<OpenOptions, "use"> {
  /** Places to sample, bilinear between cell centres. */
  at?: readonly LngLat[] | undefined;
}

/**
 * Says what a raster is: content, coordinate system, cell, unit and datum with where each comes from, range, bounds,
 * and everything doubtful about it.
 * @throws HardstandError terrain.* when the file cannot be read; content other than heights is an answer, not an error
 */
export async function describeRaster(path: string, options: DescribeOptions = {}): Promise<TerrainAnswer> {
  let opened = await openCache(path, { ...options, use: "any" });
  const verdict = verdictOf(opened);
  const classes = verdict.kind === "land-cover" || verdict.kind === "not-elevation";
  // Numbers that are not heights are told as they stand in the file.
  if (classes) opened = await openCache(path, { ...options, use: "land-cover" });
  const { meta } = opened.reader;
  const warnings = warningsOf(opened, verdict, classes ? "any" : "ground");
  const raster = new CachedRaster({
    file: opened.name,
    sha256: opened.sha256,
    reader: opened.reader,
    warnings,
    date: options.date ?? null,
    heightSdM: options.heightSdM ?? null,
    rebuild: opened.rebuild,
  });
  const { stats, head, crs, placement } = meta;
  const answer: TerrainAnswer = {
    file: opened.name,
    kind: verdict.kind,
    format: head.format,
    crs: crs.code,
    crsName: crs.name,
    crsVerified: crs.verified,
    width: meta.width,
    height: meta.height,
    cell: [placement.stepX, placement.southUp ? placement.stepY : -placement.stepY],
    cellM: [raster.cellM[0], raster.cellM[1]],
    unit: classes ? "unknown" : head.vertical.unit,
    unitSource: classes ? "unknown" : head.vertical.unitSource,
    verticalDatum: head.vertical.datum,
    verticalDatumSource: head.vertical.datumSource,
    encoding: head.encoding,
    pixelIsPoint: placement.pixelIsPoint,
    overviews: head.overviews,
    nodata: head.nodata,
    min: stats.min,
    max: stats.max,
    mean: stats.mean,
    validShare: stats.valid / stats.cells,
    bounds: [...raster.bounds] as [number, number, number, number],
    sha256: opened.sha256,
    warnings,
  };
  if (options.at !== undefined && options.at.length > 0) {
    answer.samples = [];
    for (const place of options.at) {
      const height = classes ? await nearest(raster, place) : await bilinear(raster, place);
      answer.samples.push({ lng: place.lng, lat: place.lat, heightM: Number.isNaN(height) ? null : height });
    }
  }
  return answer;
}

async function bilinear(raster: CachedRaster, place: LngLat): Promise<number> {
  const { col, row } = raster.toRaster(place);
  if (!Number.isFinite(col) || !Number.isFinite(row)) return Number.NaN;
  if (!(col >= -0.5 && row >= -0.5 && col <= raster.width - 0.5 && row <= raster.height - 0.5)) return Number.NaN;
  // In the outer half cell the edge cell's own value holds.
  const c = Math.min(Math.max(col, 0), raster.width - 1);
  const r = Math.min(Math.max(row, 0), raster.height - 1);
  return sampleWindow(await raster.read(Math.floor(c), Math.floor(r), 2, 2), 2, c - Math.floor(c), r - Math.floor(r));
}

async function nearest(raster: CachedRaster, place: LngLat): Promise<number> {
  const { col, row } = raster.toRaster(place);
  if (!Number.isFinite(col) || !Number.isFinite(row)) return Number.NaN;
  return (await raster.read(Math.round(col), Math.round(row), 1, 1))[0]!;
}
