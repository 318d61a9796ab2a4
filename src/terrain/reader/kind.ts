import type { RasterStats } from "./stats.ts";

export type ContentKind = "elevation" | "surface" | "canopy" | "land-cover" | "not-elevation" | "unknown";

export interface KindVerdict {
  kind: ContentKind;
  /** Why, in words that end a sentence; null when nothing speaks against elevation. */
  reason: string | null;
}

/** What the verdict is made from. */
export interface KindEvidence {
  fileName: string;
  words: readonly string[];
  palette: boolean;
  colourPicture: boolean;
  kind: string;
  bits: number;
  format: "geotiff" | "hgt";
  stats: RasterStats;
}

/** Fewest cells from which the shape of the numbers says anything. */
const CELLS_TO_JUDGE = 2000;

/** Words that name something else than heights, each as the file itself might say it. */
const OTHER_CONTENT =
  /\b(rain|rainfall|rain ?rate|precip\w*|snow ?depth|temperature|kelvin|celsius|ndvi|evi|reflectance|radiance|albedo|population|soil|slope|aspect|hill ?shade|curvature|backscatter|intensity|wind ?speed|humidity|pressure|probability|fraction|percent(age)?|mm\/h(r|our)?|degrees?|density|biomass|chlorophyll|gravity|magnetic)\b/i;
const CLASS_WORDS =
  /\b(land ?cover|land ?use|fuel ?model|nlcd|fbfm\d*|corine|clc|lulc|classification|classes|vegetation type|thematic)\b/i;
const CANOPY_WORDS = /\b(canopy ?height|chm|vegetation height|tree height|ndsm|height above ground|hag)\b/i;
const SURFACE_WORDS =
  /\b(dsm|surface model|digital surface|first return|srtm|aw3d\w*|alos world|cop-?dem|copernicus dem|glo-?30|aster gdem|gdem)\b/i;

const spaced = (s: string): string => s.replace(/[_.\-/]+/g, " ");

/** Says what a raster seems to hold, from what it says of itself and from the shape of its numbers. */
export function kindOf(e: KindEvidence): KindVerdict {
  const said = spaced(e.words.join(" ; "));
  const file = spaced(e.fileName.replace(/\.(tiff?|hgt|zip)$/gi, ""));
  if (e.palette) return { kind: "land-cover", reason: "it has a colour table, so its numbers are classes" };
  if (e.colourPicture) return { kind: "not-elevation", reason: "it is a colour picture" };
  if (e.stats.valid === 0) return { kind: "unknown", reason: "it holds no height at all" };
  const classWord = CLASS_WORDS.exec(said);
  if (classWord !== null) return { kind: "land-cover", reason: `it calls its contents “${classWord[0]}”` };
  const other = OTHER_CONTENT.exec(said);
  if (other !== null) return { kind: "not-elevation", reason: `it calls its contents “${other[0]}”` };
  if (CANOPY_WORDS.test(said) || CANOPY_WORDS.test(file)) return { kind: "canopy", reason: null };
  if (looksLikeClasses(e.stats))
    return { kind: "land-cover", reason: "its numbers jump between a few whole values, as class codes do" };
  if (e.format === "hgt" || SURFACE_WORDS.test(said) || SURFACE_WORDS.test(file))
    return { kind: "surface", reason: null };
  return { kind: "elevation", reason: null };
}

/**
 * Class codes: whole numbers, few of them, and neighbours that differ about as much as cells eight apart.
 * Heights, even whole metres on flat land, change gradually.
 */
function looksLikeClasses(s: RasterStats): boolean {
  if (s.valid < CELLS_TO_JUDGE || s.distinct === null || s.distinct > 256 || s.distinct < 3) return false;
  if (s.step1 === null || s.step8 === null || s.step8 === 0 || s.min === null || s.max === null) return false;
  const gradual = s.step1 / s.step8;
  // Heights step through neighbouring values, so nearly every whole metre between the extremes occurs.
  const filled = s.distinct / (s.max - s.min + 1);
  return gradual > 0.45 || (gradual > 0.3 && filled < 0.6);
}
