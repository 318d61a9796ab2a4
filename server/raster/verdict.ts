import { HardstandError } from "../../src/errors/index.ts";
import { HIGHEST_M, type KindVerdict, kindOf, LOWEST_M, type Warning } from "../../src/terrain/reader/index.ts";
import type { OpenedCache, OpenOptions } from "./index.ts";

/** What the opened raster seems to hold. */
export function verdictOf({ reader, name }: OpenedCache): KindVerdict {
  const { head, stats } = reader.meta;
  return kindOf({ fileName: name, ...head, stats });
}

export function refuseOtherContent({ name, reader }: OpenedCache, verdict: KindVerdict): void {
  const { kind, reason } = verdict;
  if (kind === "land-cover" || kind === "not-elevation")
    throw new HardstandError("terrain.not-elevation", `the raster does not hold heights: ${reason}`, {
      where: name,
      received: kind,
      hint: kind === "land-cover" ? "list it under landCover, or name an elevation raster" : "name an elevation raster",
    });
  if (reader.meta.stats.valid > 0) return;
  const { outOfRange, cells } = reader.meta.stats;
  throw new HardstandError(
    outOfRange > 0 ? "terrain.not-elevation" : "terrain.coverage",
    outOfRange > 0 ? `no cell lies between ${LOWEST_M} and ${HIGHEST_M} m` : "every cell of the raster is void",
    {
      where: name,
      received: `${cells} cells`,
      hint: outOfRange > 0 ? "check its unit and its nodata value" : "name a raster with data in the plan's area",
    },
  );
}

/** Everything doubtful about a raster, in words for a person. */
export function warningsOf(
  { reader }: OpenedCache,
  verdict: KindVerdict,
  use: NonNullable<OpenOptions["use"]>,
): Warning[] {
  const { stats, warnings, head } = reader.meta;
  const out = [...warnings];
  if (stats.outOfRange > 0)
    out.push({
      code: "out-of-range",
      text: `${stats.outOfRange} cells lie outside ${LOWEST_M} to ${HIGHEST_M} m and are void; check the unit and the nodata value`,
    });
  if (stats.valid === 0) out.push({ code: "all-void", text: "no cell holds a value" });
  else if (stats.valid < 0.5 * stats.cells)
    out.push({
      code: "much-void",
      text: `${(100 * (1 - stats.valid / stats.cells)).toFixed(1)} % of the cells are void`,
    });
  if (stats.jumps > 0 && use !== "land-cover" && use !== "any")
    out.push({
      code: "jumps",
      text: `${stats.jumps} pairs of neighbouring cells differ by more than ${stats.jumpM} m: sheer walls, voids filled with a number, or damaged data; look at the place before trusting it`,
    });
  if (use === "ground" && verdict.kind === "surface")
    out.push({
      code: "ground-looks-like-surface",
      text:
        head.format === "hgt"
          ? "SRTM is a radar surface: in woods and towns it lies above the ground"
          : "the raster seems to be a surface with trees and buildings in it, not bare ground",
    });
  if (head.bits <= 8 && verdict.kind === "elevation" && use !== "land-cover")
    out.push({
      code: "eight-bit",
      text: "the raster holds at most 256 different values; that is rarely a terrain model",
    });
  if (verdict.reason !== null && use !== "land-cover")
    out.push({ code: "kind", text: `the raster may not hold heights: ${verdict.reason}` });
  return out;
}
