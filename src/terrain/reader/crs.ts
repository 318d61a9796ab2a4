import { HardstandError } from "../../errors/index.ts";
import { METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT } from "../../units/index.ts";
import { crsRow } from "./crs-table.ts";
import { type GeoKeys, KEY, USER_DEFINED } from "./geokeys.ts";
import { userDefinedCrs } from "./user-crs.ts";
import type { Warning } from "./vertical.ts";

/** A coordinate system as a definition that can be kept in a file and turned into functions again. */
export interface CrsInfo {
  /** "EPSG:n" or null. */
  code: string | null;
  name: string;
  definition: string;
  verified: boolean;
  /** Unknown shifts are null. */
  accuracyM: number | null;
  geographic: boolean;
  /** Metres of one grid unit; 1 for geographic systems, where it has no meaning. */
  unitM: number;
}

const UNIT_OF_CODE: Record<number, { proj: string; metres: number }> = {
  9001: { proj: "+units=m", metres: 1 },
  9002: { proj: "+units=ft", metres: METRES_PER_FOOT },
  9003: { proj: "+units=us-ft", metres: METRES_PER_US_SURVEY_FOOT },
};

const unitOf = (definition: string): number =>
  definition.includes("+units=us-ft")
    ? METRES_PER_US_SURVEY_FOOT
    : definition.includes("+units=ft")
      ? METRES_PER_FOOT
      : Number(/\+to_meter=([\d.eE+-]+)/.exec(definition)?.[1] ?? 1);

export const noCrs = (name: string, what: string): HardstandError =>
  new HardstandError("terrain.no-crs", what, {
    where: name,
    hint: "export it with its coordinate system (an EPSG code) in the file",
  });

/** Coordinate system of an EPSG code; throws terrain.unverified-crs for codes this reader does not vouch for. */
export function crsOfCode(name: string, code: number, warnings: Warning[]): CrsInfo {
  const found = crsRow(code);
  if (found === undefined)
    throw new HardstandError("terrain.unverified-crs", `the coordinate system EPSG:${code} has not been checked here`, {
      where: name,
      received: `EPSG:${code}`,
      hint: "warp the raster to its UTM zone or to longitude and latitude (EPSG:4326) first",
    });
  if (!found.verified)
    warnings.push({
      code: "crs-shift-unverified",
      text: `the datum shift of ${found.name} is a regional mean and not verified: places may be off by about ${found.accuracyM} m`,
    });
  return {
    code: `EPSG:${code}`,
    name: found.name,
    definition: found.definition,
    verified: found.verified,
    accuracyM: found.accuracyM,
    geographic: found.definition.includes("+proj=longlat"),
    unitM: unitOf(found.definition),
  };
}

/**
 * Coordinate system of a GeoTIFF from its keys.
 * @throws terrain.no-crs when the file gives none, terrain.unverified-crs when it cannot be vouched for
 * Source: OGC GeoTIFF 1.1 (19-008r4) §7.2 to 7.5.
 */
export function crsOfKeys(name: string, keys: GeoKeys, warnings: Warning[]): CrsInfo {
  if (keys.damaged) throw noCrs(name, "the raster's coordinate system keys are damaged");
  const projected = keys.number(KEY.projectedCrs);
  const geodetic = keys.number(KEY.geodeticCrs);
  const model = keys.number(KEY.modelType);
  if (model === 3 || geodetic === 4978) throw noCrs(name, "the raster is in geocentric coordinates");
  if (projected !== undefined && projected !== USER_DEFINED && projected !== 0) {
    const crs = crsOfCode(name, projected, warnings);
    if (crs.geographic) throw noCrs(name, `EPSG:${projected} is given as a grid but is not one`);
    const linear = keys.number(KEY.linearUnits);
    const unit = UNIT_OF_CODE[linear ?? -1];
    if (unit !== undefined && Math.abs(unit.metres - crs.unitM) > 1e-12) {
      warnings.push({
        code: "crs-unit-override",
        text: `the file gives EPSG:${projected} in another unit than the code's own; the file's unit is taken`,
      });
      const definition = `${crs.definition.replace(/ \+units=\S+/, "")} ${unit.proj}`;
      return { ...crs, code: null, name: `${crs.name} in the file's unit`, definition, unitM: unit.metres };
    }
    return crs;
  }
  if (projected === USER_DEFINED || model === 1 || keys.number(KEY.method) !== undefined)
    return userDefinedCrs(name, keys, warnings);
  if (geodetic !== undefined && geodetic !== USER_DEFINED && geodetic !== 0) {
    const crs = crsOfCode(name, geodetic, warnings);
    if (!crs.geographic) throw noCrs(name, `EPSG:${geodetic} is given as longitude and latitude but is a grid`);
    return crs;
  }
  if (geodetic === USER_DEFINED || model === 2) return userDefinedCrs(name, keys, warnings);
  throw noCrs(name, "the raster names no coordinate system");
}
