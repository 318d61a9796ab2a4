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
  unitType: string | null;
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
/** Units of something else than a length, as files spell them. */
const OTHER_UNIT =
  /^(k|kelvin|°? ?[cf]|celsius|deg(ree)?s?.*|rad(ian)?s?|%|percent|mm.*|cm|kg.*|g\/.*|w ?\/? ?m.*|db.*|m\/s.*|km\/h|h?pa|mbar|ppm|dbz|counts?|class(es)?|index|mg.*|µg.*|s|seconds?|days?)$/i;
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
  if (e.unitType !== null && OTHER_UNIT.test(e.unitType.trim()))
    return { kind: "not-elevation", reason: `its unit is “${e.unitType.trim()}”` };
  const other = OTHER_CONTENT.exec(said);
  if (other !== null) return { kind: "not-elevation", reason: `it calls its contents “${other[0]}”` };
  if (CANOPY_WORDS.test(said) || CANOPY_WORDS.test(file)) return { kind: "canopy", reason: null };
  if (looksLikeClasses(e))
    return { kind: "land-cover", reason: "its numbers jump between a few whole values, as class codes do" };
  if (e.format === "hgt" || SURFACE_WORDS.test(said) || SURFACE_WORDS.test(file))
    return { kind: "surface", reason: null };
  return { kind: "elevation", reason: null };
}

/**
 * Class codes: whole numbers, few of them, with gaps between, and neighbours that differ about as much as cells eight
 * apart when they differ at all. Heights, even whole metres, pass through the values between and change gradually.
 * A raster that is mostly one value (flat ground with a few blocks on it) is not judged.
 */
function looksLikeClasses(e: KindEvidence): boolean {
  const s = e.stats;
  if (e.kind === "float" || s.valid < CELLS_TO_JUDGE || s.distinct === null || s.modalShare === null) return false;
  if (s.distinct < 5 || s.distinct > 256 || s.modalShare > 0.6 || s.changeShare < 0.02) return false;
  if (s.step1 === null || s.step8 === null || s.min === null || s.max === null) return false;
  const filled = s.distinct / (s.max - s.min + 1);
  return filled < 0.7 && s.step1 / s.step8 > 0.6;
}
