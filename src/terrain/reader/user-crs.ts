import { HardstandError } from "../../errors/index.ts";
import { METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT } from "../../units/index.ts";
import type { CrsInfo } from "./crs.ts";
import { crsRow } from "./crs-table.ts";
import { type GeoKeys, KEY, USER_DEFINED } from "./geokeys.ts";
import type { Warning } from "./vertical.ts";

/** Datums without a shift worth the name against WGS 84, by geographic CRS and by datum code. */
const ELLIPSOIDS: Record<number, string> = {
  7019: "+ellps=GRS80",
  7030: "+ellps=WGS84",
  7043: "+ellps=WGS72",
  7004: "+ellps=bessel",
  7008: "+ellps=clrk66",
  7012: "+ellps=clrk80",
  7022: "+ellps=intl",
  7024: "+ellps=krass",
  7001: "+ellps=airy",
};
const DATUM_TO_GEOGRAPHIC: Record<number, number> = {
  6326: 4326,
  6269: 4269,
  6258: 4258,
  6283: 4283,
  6167: 4167,
  6289: 4289,
  6267: 4267,
};

const METHODS: Record<number, "tmerc" | "lcc1" | "lcc2" | "aea" | "polar" | "laea" | "merc"> = {
  1: "tmerc",
  7: "merc",
  8: "lcc2",
  9: "lcc1",
  10: "laea",
  11: "aea",
  15: "polar",
};

const refuse = (name: string, what: string, received?: unknown): HardstandError =>
  new HardstandError("terrain.unverified-crs", what, {
    where: name,
    received,
    hint: "warp the raster to its UTM zone or to longitude and latitude (EPSG:4326) first",
  });

/** The datum part of a definition, and whether it may be trusted. */
function datumOf(
  name: string,
  keys: GeoKeys,
  warnings: Warning[],
): { definition: string; name: string; verified: boolean; accuracyM: number | null } {
  const code = keys.number(KEY.geodeticCrs);
  const datum = keys.number(KEY.geodeticDatum);
  const known = code !== undefined && code !== USER_DEFINED ? code : DATUM_TO_GEOGRAPHIC[datum ?? -1];
  const found = known === undefined ? undefined : crsRow(known);
  if (found?.definition.startsWith("+proj=longlat")) {
    if (!found.verified)
      warnings.push({
        code: "crs-shift-unverified",
        text: `the datum shift of ${found.name} is a regional mean and not verified: places may be off by about ${found.accuracyM} m`,
      });
    return {
      definition: found.definition.slice("+proj=longlat ".length),
      name: found.name,
      verified: found.verified,
      accuracyM: found.accuracyM,
    };
  }
  if (known !== undefined) throw refuse(name, `the datum of EPSG:${known} has not been checked here`, `EPSG:${known}`);
  const meridian = keys.number(KEY.primeMeridian) ?? 8901;
  if (meridian !== 8901 && !(keys.number(KEY.primeMeridianLng) === 0))
    throw refuse(name, "the raster counts longitude from another meridian than Greenwich", meridian);
  const a = keys.number(KEY.semiMajor);
  const f = keys.number(KEY.inverseFlattening);
  const b = keys.number(KEY.semiMinor);
  const ellipsoid = ELLIPSOIDS[keys.number(KEY.ellipsoid) ?? -1];
  const own =
    a !== undefined && f !== undefined && f > 0
      ? `+a=${a} +rf=${f}`
      : a !== undefined && b !== undefined
        ? `+a=${a} +b=${b}`
        : a !== undefined && f === 0
          ? `+a=${a} +b=${a}`
          : undefined;
  const shape = ellipsoid ?? own;
  if (shape === undefined) throw refuse(name, "the raster's coordinate system names no ellipsoid");
  const shift = keys.list(KEY.toWgs84);
  if (shift !== undefined && (shift.length === 3 || shift.length === 7) && shift.every(Number.isFinite)) {
    warnings.push({ code: "crs-shift-unverified", text: "the datum shift is the file's own and is not verified" });
    return { definition: `${shape} +towgs84=${shift.join(",")}`, name: "own datum", verified: false, accuracyM: null };
  }
  warnings.push({
    code: "crs-shift-unverified",
    text: "the raster's datum is not named; WGS 84 is assumed, places may be off by up to some 200 m",
  });
  return { definition: `${shape} +towgs84=0,0,0,0,0,0,0`, name: "unknown datum", verified: false, accuracyM: null };
}

function linearUnit(name: string, keys: GeoKeys): number {
  const code = keys.number(KEY.linearUnits) ?? 9001;
  if (code === 9001) return 1;
  if (code === 9002) return METRES_PER_FOOT;
  if (code === 9003) return METRES_PER_US_SURVEY_FOOT;
  const size = keys.number(KEY.linearUnitSize);
  if (code === USER_DEFINED && size !== undefined && size > 0 && Number.isFinite(size)) return size;
  throw refuse(name, "the raster's linear unit is unknown", code);
}

function angularUnitDeg(name: string, keys: GeoKeys): number {
  const code = keys.number(KEY.angularUnits) ?? 9102;
  if (code === 9102) return 1;
  if (code === 9101) return 180 / Math.PI;
  if (code === 9105) return 0.9;
  throw refuse(name, "the raster's angular unit is unknown", code);
}

/**
 * Builds a coordinate system that the file defines by its own keys, where that can be done exactly.
 * @throws terrain.unverified-crs for methods, units or ellipsoids that cannot
 * Source: OGC GeoTIFF 1.1 (19-008r4) §7.5 and annex C.
 */
export function userDefinedCrs(name: string, keys: GeoKeys, warnings: Warning[]): CrsInfo {
  const datum = datumOf(name, keys, warnings);
  const angle = angularUnitDeg(name, keys);
  const base = { code: null, verified: datum.verified, accuracyM: datum.accuracyM };
  if (keys.number(KEY.modelType) === 2) {
    if (angle !== 1) throw refuse(name, "longitude and latitude are not in degrees", keys.number(KEY.angularUnits));
    const title = keys.text(KEY.geodeticCitation) ?? keys.text(KEY.citation) ?? `longitude and latitude, ${datum.name}`;
    return {
      ...base,
      name: title.slice(0, 80),
      definition: `+proj=longlat ${datum.definition}`,
      geographic: true,
      unitM: 1,
    };
  }
  const projection = keys.number(KEY.projection);
  if (projection !== undefined && projection !== USER_DEFINED) {
    // 160zz and 161zz are UTM zones north and south in the EPSG list of conversions.
    const zone =
      projection > 16000 && projection <= 16060
        ? projection - 16000
        : projection > 16100 && projection <= 16160
          ? projection - 16100
          : 0;
    if (zone === 0) throw refuse(name, `the projection EPSG:${projection} has not been checked here`, projection);
    const south = projection > 16100;
    return {
      ...base,
      name: `${datum.name} / UTM zone ${zone}${south ? "S" : "N"}`,
      definition: `+proj=utm +zone=${zone}${south ? " +south" : ""} ${datum.definition}`,
      geographic: false,
      unitM: 1,
    };
  }
  const code = keys.number(KEY.method);
  const method = METHODS[code ?? -1];
  if (method === undefined) throw refuse(name, "the raster's projection is none of those built here", code);
  const unitM = linearUnit(name, keys);
  const number = (...keyList: number[]): number | undefined => {
    for (const k of keyList) {
      const v = keys.number(k);
      if (v !== undefined) return v;
    }
    return undefined;
  };
  const deg = (v: number | undefined): number | undefined => (v === undefined ? undefined : v * angle);
  const lng = deg(number(KEY.naturalOriginLng, KEY.falseOriginLng, KEY.centerLng, KEY.straightVerticalPoleLng));
  const lat = deg(number(KEY.naturalOriginLat, KEY.falseOriginLat, KEY.centerLat));
  const east = (number(KEY.falseEasting, KEY.falseOriginEasting, KEY.centerEasting) ?? 0) * unitM;
  const north = (number(KEY.falseNorthing, KEY.falseOriginNorthing, KEY.centerNorthing) ?? 0) * unitM;
  const k = number(KEY.scaleAtNaturalOrigin, KEY.scaleAtCenter);
  const p1 = deg(keys.number(KEY.standardParallel1));
  const p2 = deg(keys.number(KEY.standardParallel2));
  const need = (v: number | undefined, what: string): number => {
    if (v === undefined || !Number.isFinite(v)) throw refuse(name, `the raster's projection lacks its ${what}`);
    return v;
  };
  const lon0 =
    method === "polar"
      ? need(deg(number(KEY.straightVerticalPoleLng, KEY.naturalOriginLng)), "central meridian")
      : need(lng, "central meridian");
  const parts: Record<typeof method, () => string> = {
    tmerc: () => `+proj=tmerc +lat_0=${need(lat ?? 0, "origin latitude")} +lon_0=${lon0} +k=${k ?? 1}`,
    merc: () =>
      p1 !== undefined ? `+proj=merc +lon_0=${lon0} +lat_ts=${p1}` : `+proj=merc +lon_0=${lon0} +k=${k ?? 1}`,
    lcc1: () =>
      `+proj=lcc +lat_1=${need(lat, "origin latitude")} +lat_0=${need(lat, "origin latitude")} +lon_0=${lon0} +k_0=${k ?? 1}`,
    lcc2: () =>
      `+proj=lcc +lat_0=${need(lat, "origin latitude")} +lon_0=${lon0} +lat_1=${need(p1, "first parallel")} +lat_2=${need(p2, "second parallel")}`,
    aea: () =>
      `+proj=aea +lat_0=${need(lat, "origin latitude")} +lon_0=${lon0} +lat_1=${need(p1, "first parallel")} +lat_2=${need(p2, "second parallel")}`,
    laea: () => `+proj=laea +lat_0=${need(lat, "origin latitude")} +lon_0=${lon0}`,
    polar: () => {
      const ts = need(lat ?? p1, "latitude of true scale");
      const pole = ts < 0 ? -90 : 90;
      return Math.abs(ts) === 90
        ? `+proj=stere +lat_0=${pole} +lon_0=${lon0} +k=${k ?? 1}`
        : `+proj=stere +lat_0=${pole} +lat_ts=${ts} +lon_0=${lon0}`;
    },
  };
  const title = keys.text(KEY.projectedCitation) ?? keys.text(KEY.citation) ?? `user-defined ${method}, ${datum.name}`;
  return {
    ...base,
    name: title.replace(/\s+/g, " ").slice(0, 80),
    definition: `${parts[method]()} +x_0=${east} +y_0=${north} ${datum.definition}${unitM === 1 ? "" : ` +to_meter=${unitM}`}`,
    geographic: false,
    unitM,
  };
}
