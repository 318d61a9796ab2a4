import { METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT } from "../../units/index.ts";
import type { BandMetadata } from "./gdal-metadata.ts";
import { type GeoKeys, KEY, USER_DEFINED } from "./geokeys.ts";

export type HeightUnit = "m" | "ft" | "us-ft";
export type Source = "declared" | "assumed" | "unknown";

export interface Vertical {
  unit: HeightUnit | "unknown";
  unitSource: Source;
  datum: string;
  datumSource: Source;
}

export interface Warning {
  code: string;
  text: string;
}

export const metresPer = (unit: HeightUnit | "unknown"): number =>
  unit === "ft" ? METRES_PER_FOOT : unit === "us-ft" ? METRES_PER_US_SURVEY_FOOT : 1;

/** Vertical systems by EPSG code. Source: EPSG registry, as listed by PROJ's database. */
const VERTICAL_CRS: Record<number, { datum: string; unit: HeightUnit }> = {
  5773: { datum: "egm96", unit: "m" },
  5798: { datum: "egm84", unit: "m" },
  3855: { datum: "egm2008", unit: "m" },
  5703: { datum: "navd88", unit: "m" },
  6360: { datum: "navd88", unit: "us-ft" },
  8228: { datum: "navd88", unit: "ft" },
  7968: { datum: "ngvd29", unit: "m" },
  5702: { datum: "ngvd29", unit: "us-ft" },
  5709: { datum: "nap", unit: "m" },
  5701: { datum: "odn", unit: "m" },
  5714: { datum: "orthometric", unit: "m" },
  8050: { datum: "orthometric", unit: "ft" },
  8052: { datum: "orthometric", unit: "us-ft" },
  5783: { datum: "dhhn92", unit: "m" },
  7837: { datum: "dhhn2016", unit: "m" },
  5730: { datum: "evrf2000", unit: "m" },
  5621: { datum: "evrf2007", unit: "m" },
  9389: { datum: "evrf2019", unit: "m" },
  5711: { datum: "ahd", unit: "m" },
  9458: { datum: "avws", unit: "m" },
  7839: { datum: "nzvd2016", unit: "m" },
  4440: { datum: "nzvd2009", unit: "m" },
  5713: { datum: "cgvd28", unit: "m" },
  6647: { datum: "cgvd2013", unit: "m" },
  5720: { datum: "ign69", unit: "m" },
  5728: { datum: "ln02", unit: "m" },
  5729: { datum: "lhn95", unit: "m" },
  4979: { datum: "ellipsoid", unit: "m" },
};

/** Vertical datums by EPSG code, where a file gives the datum alone. */
const VERTICAL_DATUM: Record<number, string> = {
  5171: "egm96",
  1027: "egm2008",
  5103: "navd88",
  5102: "ngvd29",
  5109: "nap",
  5101: "odn",
  5100: "orthometric",
  5181: "dhhn92",
  5111: "ahd",
};

const UNIT_BY_CODE: Record<number, HeightUnit> = { 9001: "m", 9002: "ft", 9003: "us-ft" };

/** A unit word as files spell it; null when it is a length this reader does not take, undefined when it is no length. */
function unitWord(word: string): HeightUnit | undefined {
  const w = word
    .trim()
    .toLowerCase()
    .replace(/[\s_.-]+/g, " ");
  if (/^(m|meter|metre|meters|metres|mtr)$/.test(w)) return "m";
  if (
    /^(us survey (foot|feet)|us (foot|feet|ft)|ftus|us ft|survey (foot|feet)|foot us|u s survey (foot|feet))$/.test(w)
  )
    return "us-ft";
  if (/^(ft|foot|feet|international (foot|feet)|foot international)$/.test(w)) return "ft";
  return undefined;
}

/**
 * Vertical unit and datum of a raster from its keys and metadata.
 * @param override what the plan says; wins over the file
 */
export function verticalOf(
  keys: GeoKeys,
  band: BandMetadata,
  override: { unit?: HeightUnit | undefined; verticalDatum?: string | undefined },
  warnings: Warning[],
): Vertical {
  const out: Vertical = { unit: "unknown", unitSource: "unknown", datum: "unknown", datumSource: "unknown" };
  const crs = keys.number(KEY.verticalCrs);
  const datum = keys.number(KEY.verticalDatum);
  const unitCode = keys.number(KEY.verticalUnits);
  const known = crs === undefined ? undefined : VERTICAL_CRS[crs];
  if (known !== undefined) {
    out.datum = known.datum;
    out.datumSource = "declared";
    out.unit = known.unit;
    out.unitSource = "declared";
  } else if (crs !== undefined && crs >= 5001 && crs <= 5035) {
    // Codes of GeoTIFF 1.0 for heights above an ellipsoid.
    out.datum = "ellipsoid";
    out.datumSource = "declared";
  } else {
    const byDatum = VERTICAL_DATUM[datum ?? -1] ?? VERTICAL_DATUM[crs ?? -1];
    if (byDatum !== undefined) {
      out.datum = byDatum;
      out.datumSource = "declared";
    } else if (keys.number(KEY.geodeticCrs) === 4979) {
      out.datum = "ellipsoid";
      out.datumSource = "declared";
    } else if (crs !== undefined || datum !== undefined)
      warnings.push({
        code: "vertical-datum-unknown",
        text: `the file names a vertical system this reader does not know (${[crs, datum].filter((v) => v !== undefined).join(", ")}); say its datum in the plan`,
      });
  }
  const byCode = UNIT_BY_CODE[unitCode ?? -1];
  if (byCode !== undefined) {
    if (out.unitSource === "declared" && out.unit !== byCode)
      warnings.push({
        code: "unit-conflict",
        text: `the file gives heights in ${out.unit} and in ${byCode}; ${byCode} is taken`,
      });
    out.unit = byCode;
    out.unitSource = "declared";
  } else if (unitCode !== undefined && unitCode !== USER_DEFINED)
    warnings.push({
      code: "unit-unknown",
      text: `the file's vertical unit has the private or unknown code ${unitCode} and is ignored; say the unit in the plan`,
    });
  const word = band.unitType === null || band.unitType === "" ? undefined : unitWord(band.unitType);
  if (word !== undefined) {
    if (out.unitSource === "declared" && out.unit !== word)
      warnings.push({
        code: "unit-conflict",
        text: `the file gives heights in ${out.unit} and in ${word}; ${out.unit} is taken`,
      });
    else {
      out.unit = word;
      out.unitSource = "declared";
    }
  } else if (band.unitType !== null && band.unitType !== "")
    warnings.push({
      code: "unit-unknown",
      text: `the band's unit “${band.unitType}” is not a length this reader knows`,
    });
  if (override.unit !== undefined) {
    if (out.unitSource === "declared" && out.unit !== override.unit)
      warnings.push({
        code: "unit-override",
        text: `the file says heights are in ${out.unit}, the plan says ${override.unit}; the plan is followed`,
      });
    out.unit = override.unit;
    out.unitSource = "declared";
  }
  if (override.verticalDatum !== undefined) {
    if (out.datumSource === "declared" && out.datum !== override.verticalDatum)
      warnings.push({
        code: "datum-override",
        text: `the file says heights are above ${out.datum}, the plan says ${override.verticalDatum}; the plan is followed`,
      });
    out.datum = override.verticalDatum;
    out.datumSource = override.verticalDatum === "unknown" ? "unknown" : "declared";
  }
  return out;
}
