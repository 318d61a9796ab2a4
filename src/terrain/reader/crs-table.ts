/** One coordinate system this reader vouches for. */
export interface CrsRow {
  name: string;
  /** Definition for the projection library, without units when they are metres or degrees. */
  definition: string;
  /** Metres by which places may be off against WGS 84, from the datum shift. */
  accuracyM: number;
  /** False when the shift is a rough regional mean; the fact travels with every result. */
  verified: boolean;
}

const row = (name: string, definition: string, accuracyM: number, verified = true): CrsRow => ({
  name,
  definition,
  accuracyM,
  verified,
});

const GRS80 = "+ellps=GRS80 +towgs84=0,0,0,0,0,0,0";
/** EPSG transformation 4833 as PROJ applies it (Amersfoort to WGS 84 (4)), rotations in arc-seconds, position vector. */
const AMERSFOORT =
  "+ellps=bessel +towgs84=565.4171,50.3319,465.5524,-0.398957388243134,0.343987817378283,-1.87740163998045,4.0725";

/** Geographic systems and national grids in use; UTM zones come by rule below. */
const ROWS: Record<number, CrsRow> = {
  4326: row("WGS 84", "+proj=longlat +datum=WGS84", 0),
  4979: row("WGS 84 (3D)", "+proj=longlat +datum=WGS84", 0),
  4269: row("NAD83", `+proj=longlat ${GRS80}`, 2),
  6318: row("NAD83(2011)", `+proj=longlat ${GRS80}`, 2),
  4258: row("ETRS89", `+proj=longlat ${GRS80}`, 1),
  4283: row("GDA94", `+proj=longlat ${GRS80}`, 3),
  7844: row("GDA2020", `+proj=longlat ${GRS80}`, 3),
  4167: row("NZGD2000", `+proj=longlat ${GRS80}`, 1),
  4617: row("NAD83(CSRS)", `+proj=longlat ${GRS80}`, 2),
  4289: row("Amersfoort", `+proj=longlat ${AMERSFOORT}`, 1),
  4267: row("NAD27", "+proj=longlat +ellps=clrk66 +towgs84=-8,160,176", 20, false),
  3857: row("WGS 84 / Pseudo-Mercator", "+proj=merc +a=6378137 +b=6378137 +k=1 +nadgrids=@null", 0),
  28992: row(
    "Amersfoort / RD New",
    `+proj=sterea +lat_0=52.1561605555556 +lon_0=5.38763888888889 +k=0.9999079 +x_0=155000 +y_0=463000 ${AMERSFOORT}`,
    1,
  ),
  2193: row(
    "NZGD2000 / New Zealand Transverse Mercator 2000",
    `+proj=tmerc +lat_0=0 +lon_0=173 +k=0.9996 +x_0=1600000 +y_0=10000000 ${GRS80}`,
    1,
  ),
  2154: row(
    "RGF93 / Lambert-93",
    `+proj=lcc +lat_0=46.5 +lon_0=3 +lat_1=49 +lat_2=44 +x_0=700000 +y_0=6600000 ${GRS80}`,
    1,
  ),
  3035: row("ETRS89 / LAEA Europe", `+proj=laea +lat_0=52 +lon_0=10 +x_0=4321000 +y_0=3210000 ${GRS80}`, 1),
  2056: row(
    "CH1903+ / LV95",
    "+proj=somerc +lat_0=46.9524055555556 +lon_0=7.43958333333333 +k_0=1 +x_0=2600000 +y_0=1200000 +ellps=bessel +towgs84=674.374,15.056,405.346,0,0,0,0",
    1,
  ),
  5070: row("NAD83 / Conus Albers", `+proj=aea +lat_0=23 +lon_0=-96 +lat_1=29.5 +lat_2=45.5 +x_0=0 +y_0=0 ${GRS80}`, 2),
  27700: row(
    "OSGB36 / British National Grid",
    "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +ellps=airy +towgs84=446.448,-125.157,542.06,0.15,0.247,0.842,-20.489",
    5,
    false,
  ),
  2269: row(
    "NAD83 / Oregon North (ft)",
    `+proj=lcc +lat_0=43.6666666666667 +lon_0=-120.5 +lat_1=46 +lat_2=44.3333333333333 +x_0=2500000.0001424 +y_0=0 ${GRS80} +units=ft`,
    2,
  ),
  2263: row(
    "NAD83 / New York Long Island (ftUS)",
    `+proj=lcc +lat_0=40.1666666666667 +lon_0=-74 +lat_1=41.0333333333333 +lat_2=40.6666666666667 +x_0=300000.0000000001 +y_0=0 ${GRS80} +units=us-ft`,
    2,
  ),
  2853: row(
    "NAD83(HARN) / Virginia North",
    `+proj=lcc +lat_0=37.6666666666667 +lon_0=-78.5 +lat_1=39.2 +lat_2=38.0333333333333 +x_0=3500000 +y_0=2000000 ${GRS80}`,
    2,
  ),
};

/** UTM families: first code, zone of that code, last zone, hemisphere, datum. */
const UTM: [
  first: number,
  zone: number,
  last: number,
  south: boolean,
  name: string,
  datum: string,
  accuracyM: number,
  verified?: boolean,
][] = [
  [32601, 1, 60, false, "WGS 84", "+datum=WGS84", 0],
  [32701, 1, 60, true, "WGS 84", "+datum=WGS84", 0],
  [26901, 1, 23, false, "NAD83", GRS80, 2],
  [25828, 28, 38, false, "ETRS89", GRS80, 1],
  [6330, 1, 19, false, "NAD83(2011)", GRS80, 2],
  [28348, 48, 58, true, "GDA94", GRS80, 3],
  [7846, 46, 59, true, "GDA2020", GRS80, 3],
  [31978, 18, 25, true, "SIRGAS 2000", GRS80, 1],
  [26701, 1, 22, false, "NAD27", "+ellps=clrk66 +towgs84=-8,160,176", 20, false],
];

/** The row of an EPSG code, or undefined when this reader does not vouch for it. */
export function crsRow(code: number): CrsRow | undefined {
  const own = ROWS[code];
  if (own !== undefined) return own;
  for (const [first, zone, last, south, name, datum, accuracyM, verified] of UTM) {
    const z = zone + code - first;
    if (code >= first && z <= last) {
      const definition = `+proj=utm +zone=${z}${south ? " +south" : ""} ${datum}`;
      return row(`${name} / UTM zone ${z}${south ? "S" : "N"}`, definition, accuracyM, verified ?? true);
    }
  }
  return undefined;
}

export const TABLE_CODES: readonly number[] = [
  ...Object.keys(ROWS).map(Number),
  ...UTM.flatMap(([first, zone, last]) => Array.from({ length: last - zone + 1 }, (_, i) => first + i)),
];
