import json from "./crs-rows.json" with { type: "json" };

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

const table = json as unknown as {
  conversions: string[];
  shifts: string[];
  rows: Record<string, [name: string, conversion: number, shift: number, accuracyM: number, verified: 0 | 1]>;
};

const GRS80 = "+ellps=GRS80 +towgs84=0,0,0,0,0,0,0";
/** PROJ's choice for Amersfoort (EPSG transformation 4833, rotations in arc-seconds, position vector). */
const AMERSFOORT =
  "+ellps=bessel +towgs84=565.4171,50.3319,465.5524,-0.398957388243134,0.343987817378283,-1.87740163998045,4.0725";
/** Mean of the contiguous United States (EPSG transformation 1173); the real shift varies by tens of metres. */
const NAD27 = "+ellps=clrk66 +towgs84=-8,160,176";

const geographic = (name: string, datum: string, accuracyM: number, verified = true): CrsRow => ({
  name,
  definition: `+proj=longlat ${datum}`,
  accuracyM,
  verified,
});

/** Geographic systems, and the few grids that the made table cannot hold. */
const OWN: Record<number, CrsRow> = {
  4326: geographic("WGS 84", "+datum=WGS84", 0),
  4979: geographic("WGS 84 (3D)", "+datum=WGS84", 0),
  4269: geographic("NAD83", GRS80, 2),
  6318: geographic("NAD83(2011)", GRS80, 2),
  6319: geographic("NAD83(2011) (3D)", GRS80, 2),
  4258: geographic("ETRS89", GRS80, 1),
  4937: geographic("ETRS89 (3D)", GRS80, 1),
  4171: geographic("RGF93", GRS80, 1),
  4283: geographic("GDA94", GRS80, 3),
  7844: geographic("GDA2020", GRS80, 3),
  4167: geographic("NZGD2000", GRS80, 1),
  4617: geographic("NAD83(CSRS)", GRS80, 3, false),
  4152: geographic("NAD83(HARN)", GRS80, 3, false),
  4674: geographic("SIRGAS 2000", GRS80, 1),
  6668: geographic("JGD2011", GRS80, 1),
  4612: geographic("JGD2000", GRS80, 1),
  4289: geographic("Amersfoort", AMERSFOORT, 1),
  4267: geographic("NAD27", NAD27, 20, false),
  3857: {
    name: "WGS 84 / Pseudo-Mercator",
    definition: "+proj=merc +a=6378137 +b=6378137 +k=1 +nadgrids=@null",
    accuracyM: 0,
    verified: true,
  },
};

/** UTM zones on NAD27, whose shift needs a grid: taken with the mean, never as verified. */
const NAD27_UTM = { first: 26701, last: 26722 };

/** The row of an EPSG code, or undefined when this reader does not vouch for it. */
export function crsRow(code: number): CrsRow | undefined {
  const own = OWN[code];
  if (own !== undefined) return own;
  const made = table.rows[code];
  if (made !== undefined) {
    const [name, conversion, shift, accuracyM, verified] = made;
    const definition = `${table.conversions[conversion]} ${table.shifts[shift]}`;
    return { name, definition, accuracyM, verified: verified === 1 };
  }
  if (code < NAD27_UTM.first || code > NAD27_UTM.last) return undefined;
  const zone = code - NAD27_UTM.first + 1;
  return {
    name: `NAD27 / UTM zone ${zone}N`,
    definition: `+proj=utm +zone=${zone} ${NAD27}`,
    accuracyM: 20,
    verified: false,
  };
}

/** Every code of the made table, for its tests. */
export const MADE_CODES: readonly number[] = Object.keys(table.rows).map(Number);
