import { HardstandError } from "../../errors/index.ts";
import type { ByteSource } from "./byte-source.ts";
import { type CrsInfo, crsOfCode, crsOfKeys } from "./crs.ts";
import { type BandMetadata, bandMetadata, parseNodata } from "./gdal-metadata.ts";
import { GeoKeys, KEY } from "./geokeys.ts";
import { type Placement, placementOf } from "./georeference.ts";
import { hgtCorner, hgtLayout, isHgtName } from "./hgt.ts";
import { type Layout, layoutOf } from "./layout.ts";
import type { Settling } from "./settle.kernel.ts";
import { first, type Ifd, numbers, type Tiff, text, walkTiff } from "./tiff-ifd.ts";
import { compressionName, TAG } from "./tiff-tags.ts";
import { type HeightUnit, metresPer, type Vertical, verticalOf, type Warning } from "./vertical.ts";

/** Heights outside are void, whatever the file's nodata says: below the Dead Sea and above Everest there is no ground. */
export const LOWEST_M = -500;
export const HIGHEST_M = 9000;

export interface HeadOptions {
  unit?: HeightUnit | undefined;
  verticalDatum?: string | undefined;
  /** `classes` keeps numbers as they are: no unit, no height range. Default `heights`. */
  values?: "heights" | "classes" | undefined;
  /** Which of the file's own overviews to read instead of the raster itself, counted from 0. */
  overview?: number | undefined;
}

/** Everything a raster says of itself, checked, before any cell is decoded. */
export interface RasterHead {
  format: "geotiff" | "hgt";
  littleEndian: boolean;
  layout: Layout;
  mask: Layout | null;
  placement: Placement;
  crs: CrsInfo;
  vertical: Vertical;
  settling: Settling;
  /** Raw nodata as the file gives it; null when there is none. */
  nodata: number | null;
  overviews: number;
  encoding: string;
  /** Names the file gives its contents: band description, unit words, citations. */
  words: string[];
  unitType: string | null;
  palette: boolean;
  colourPicture: boolean;
  date: string | null;
  warnings: Warning[];
}

/** Reads and checks the head of a raster: format, layout, place, coordinate system, vertical unit and datum. */
export async function readHead(source: ByteSource, options: HeadOptions = {}): Promise<RasterHead> {
  return isHgtName(source.name) ? hgtHead(source, options) : tiffHead(source, options);
}

function settlingOf(
  vertical: Vertical,
  options: HeadOptions,
  raw: { nodata: number; scale: number; offset: number },
): Settling {
  if (options.values === "classes")
    return { nodata: raw.nodata, scale: 1, offset: 0, lowest: -3.4e38, highest: 3.4e38 };
  const m = metresPer(vertical.unit);
  return { nodata: raw.nodata, scale: raw.scale * m, offset: raw.offset * m, lowest: LOWEST_M, highest: HIGHEST_M };
}

function hgtHead(source: ByteSource, options: HeadOptions): RasterHead {
  const layout = hgtLayout(source.name, source.size);
  const corner = hgtCorner(source.name);
  if (corner === null)
    throw new HardstandError("terrain.no-georeference", "the name of a height file must say its south-west corner", {
      where: source.name,
      hint: "name it like N42E001.hgt",
    });
  const warnings: Warning[] = [];
  const step = 1 / (layout.width - 1);
  const vertical = verticalOf(
    new GeoKeys({ offset: 0, length: 0, entries: new Map(), values: new Map() }),
    bandMetadata(undefined),
    options,
    warnings,
  );
  if (vertical.unit === "unknown") {
    vertical.unit = "m";
    vertical.unitSource = "declared"; // the format knows metres only
  }
  if (vertical.datumSource === "unknown" && options.verticalDatum === undefined) {
    vertical.datum = "egm96";
    vertical.datumSource = "assumed";
  }
  return {
    format: "hgt",
    littleEndian: false,
    layout,
    mask: null,
    placement: {
      west: corner.lng - step / 2,
      north: corner.lat + 1 + step / 2,
      stepX: step,
      stepY: step,
      southUp: false,
      pixelIsPoint: true,
    },
    crs: crsOfCode(source.name, 4326, warnings),
    vertical,
    settling: settlingOf(vertical, options, { nodata: -32768, scale: 1, offset: 0 }),
    nodata: -32768,
    overviews: 0,
    encoding: `16-bit integers, uncompressed, ${layout.width} × ${layout.height}`,
    words: [],
    unitType: null,
    palette: false,
    colourPicture: false,
    date: null,
    warnings,
  };
}

async function tiffHead(source: ByteSource, options: HeadOptions): Promise<RasterHead> {
  const tiff = await walkTiff(source);
  const ifd = tiff.ifds[0]!;
  const warnings: Warning[] = tiff.notes.map((text) => ({ code: "file-damaged-part", text }));
  const main = layoutOf(source, tiff, ifd);
  const keys = new GeoKeys(ifd);
  const mainPlacement = placementOf(source.name, ifd, keys, main);
  const crs = crsOfKeys(source.name, keys, warnings);
  const band = bandMetadata(text(ifd, TAG.gdalMetadata));
  const vertical = verticalOf(keys, band, options, warnings);
  const classes = options.values === "classes";
  if (!classes) assumeUnit(vertical, crs, warnings);
  const extra = extraImages(source, tiff, main, options.overview ?? null, warnings);
  const layout = extra.overview ?? main;
  const placement = {
    ...mainPlacement,
    stepX: (mainPlacement.stepX * main.width) / layout.width,
    stepY: (mainPlacement.stepY * main.height) / layout.height,
  };
  const raw = { ...nodataOf(ifd, layout, warnings), ...scaleOf(ifd, keys, band, warnings) };
  if (layout.bands > 1)
    warnings.push({ code: "several-bands", text: `the raster has ${layout.bands} bands; the first is taken` });
  if (layout.absentBlocks > 0)
    warnings.push({
      code: "blocks-absent",
      text: `${layout.absentBlocks} of ${layout.blocks.length} blocks are not in the file; they are void`,
    });
  const photometric = layout.photometric;
  return {
    format: "geotiff",
    littleEndian: tiff.littleEndian,
    layout,
    mask: extra.mask,
    placement,
    crs,
    vertical,
    settling: settlingOf(vertical, options, raw),
    nodata: raw.declared,
    overviews: extra.overviews,
    encoding: encodingOf(tiff, layout),
    words: [
      band.description ?? "",
      text(ifd, TAG.imageDescription) ?? "",
      ...band.items.map((i) => `${i.name} ${i.value}`),
    ].filter((w) => w !== ""),
    unitType: band.unitType,
    palette: layout.palette,
    colourPicture:
      (photometric === 2 || photometric === 6) && (layout.bands === 3 || layout.bands === 4) && layout.bits === 8,
    date: text(ifd, TAG.dateTime)?.slice(0, 40) ?? null,
    warnings,
  };
}

function assumeUnit(vertical: Vertical, crs: CrsInfo, warnings: Warning[]): void {
  if (vertical.unit === "unknown") {
    vertical.unit = "m";
    vertical.unitSource = "assumed";
    const feet = !crs.geographic && crs.unitM !== 1;
    warnings.push({
      code: feet ? "unit-doubtful" : "unit-assumed",
      text: feet
        ? "the file does not say in what unit its heights are, and its grid is in feet: metres are assumed, the heights may well be feet; say the unit in the plan"
        : "the file does not say in what unit its heights are; metres are assumed",
    });
  }
  if (vertical.datumSource === "unknown")
    warnings.push({
      code: "datum-unknown",
      text: "the file does not say above what its heights are measured; they are taken as above mean sea level",
    });
}

function nodataOf(ifd: Ifd, l: Layout, warnings: Warning[]): { nodata: number; declared: number | null } {
  const raw = text(ifd, TAG.gdalNodata);
  if (raw === undefined) return { nodata: Number.NaN, declared: null };
  const value = parseNodata(raw);
  if (value === undefined) {
    if (raw.trim() !== "")
      warnings.push({
        code: "nodata-unreadable",
        text: `the file's nodata value “${raw.trim().slice(0, 40)}” is not a number and is ignored`,
      });
    return { nodata: Number.NaN, declared: null };
  }
  // A float raster stores the nearest float to the number in the tag: it must be compared as such.
  const stored = l.kind === "float" && l.bits === 32 ? Math.fround(value) : value;
  const holds = l.kind === "float" || (Number.isInteger(value) && inRange(l, value));
  if (!holds)
    warnings.push({ code: "nodata-impossible", text: `the file's nodata value ${value} cannot occur in its samples` });
  return { nodata: stored, declared: stored };
}

const inRange = (l: Layout, v: number): boolean =>
  l.kind === "uint" ? v >= 0 && v < 2 ** l.bits : v >= -(2 ** (l.bits - 1)) && v < 2 ** (l.bits - 1);

/** Scale and offset: the metadata's, else the Z of pixel scale and tie point where a vertical system is given (GeoTIFF 1.1 §7.1.2). */
function scaleOf(ifd: Ifd, keys: GeoKeys, band: BandMetadata, warnings: Warning[]): { scale: number; offset: number } {
  let { scale, offset } = band;
  if (
    scale === 1 &&
    offset === 0 &&
    keys.number(KEY.verticalCrs) !== undefined &&
    keys.number(KEY.verticalCrs) !== 32767
  ) {
    const z = numbers(ifd, TAG.modelPixelScale)?.[2] ?? 0;
    const tie = numbers(ifd, TAG.modelTiepoint);
    if (z !== 0 && Number.isFinite(z)) {
      scale = z;
      offset = (tie?.[5] ?? 0) - (tie?.[2] ?? 0) * z;
    }
  }
  if (scale === 0) {
    warnings.push({ code: "scale-zero", text: "the file gives a scale of 0; it is ignored" });
    scale = 1;
  }
  if (scale !== 1 || offset !== 0)
    warnings.push({ code: "scaled", text: `heights are the stored numbers × ${scale} + ${offset}, as the file says` });
  return { scale, offset };
}

interface ExtraImages {
  mask: Layout | null;
  overviews: number;
  overview: Layout | null;
}

/** Finds the mask of the raster, or of the overview asked for, among the file's further images. */
function extraImages(
  source: ByteSource,
  tiff: Tiff,
  main: Layout,
  wanted: number | null,
  warnings: Warning[],
): ExtraImages {
  const overviews: Ifd[] = [];
  const masks: Ifd[] = [];
  let pages = 0;
  for (const ifd of tiff.ifds.slice(1)) {
    const type = first(ifd, TAG.newSubfileType) ?? 0;
    if ((type & 4) !== 0) masks.push(ifd);
    else if ((type & 1) !== 0) overviews.push(ifd);
    else pages++;
  }
  if (pages > 0)
    warnings.push({ code: "several-images", text: `the file holds ${pages + 1} images; the first is taken` });
  const of = wanted === null ? null : overviews[wanted];
  if (of === undefined) throw new RangeError(`no overview ${wanted}; the file has ${overviews.length}`);
  const overview = of === null ? null : layoutOf(source, tiff, of);
  const target = overview ?? main;
  const wantedType = overview === null ? 4 : 5;
  const candidates = masks.filter((m) => ((first(m, TAG.newSubfileType) ?? 0) & 5) === wantedType);
  const fits = (m: Ifd): boolean =>
    first(m, TAG.imageWidth) === target.width && first(m, TAG.imageLength) === target.height;
  const ifd = candidates.find(fits);
  if (ifd === undefined && overview === null && candidates.length > 0)
    throw new HardstandError("terrain.corrupt", "the raster's mask has another size than the raster", {
      where: source.name,
      hint: "fetch or export the file again",
    });
  return { mask: ifd === undefined ? null : layoutOf(source, tiff, ifd), overviews: overviews.length, overview };
}

function encodingOf(tiff: Tiff, l: Layout): string {
  const type = l.kind === "float" ? "floats" : l.kind === "int" ? "signed integers" : "unsigned integers";
  const predictor = l.predictor === 1 ? "" : `, predictor ${l.predictor}`;
  const blocks = l.tiled ? `tiles of ${l.blockWidth} × ${l.blockHeight}` : "strips";
  const extra = l.compression === 34887 ? ["", " with deflate", " with ZSTD"][l.lercParameters[1] ?? 0] : "";
  return `${tiff.big ? "BigTIFF, " : ""}${tiff.littleEndian ? "" : "big-endian, "}${l.bits}-bit ${type}, ${compressionName(l.compression)}${extra}${predictor}, ${blocks}`;
}
