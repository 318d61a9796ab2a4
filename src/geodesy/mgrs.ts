import { HardstandError } from "../errors/index.ts";
import type { LngLat } from "./types.ts";
import { BANDS, bandEdges, fromUtm, polar, toUtm } from "./utm.ts";

/** Column letters of the 100 km squares, by (zone − 1) mod 3. */
const COLUMNS = ["ABCDEFGH", "JKLMNPQR", "STUVWXYZ"] as const;
const ROWS = "ABCDEFGHJKLMNPQRSTUV";
const SQUARE_M = 100_000;
const ROW_CYCLE_M = 2_000_000;
/** A square may reach over its band's edge; half its diagonal is less than this. */
const BAND_SLACK_DEG = 1;

export interface MgrsSquare {
  /** South-west corner of the square named. */
  corner: LngLat;
  centre: LngLat;
  /** Side of the square the digits name, metres: 100,000 without digits, 1 with five pairs. */
  sizeM: number;
  /** Places the square on the grid: zone, easting and northing of its corner. */
  zone: number;
  eastingM: number;
  northingM: number;
}

/**
 * US National Grid (the same digits as MGRS) of a place, as "14T NM 41830 09710".
 * @param digits  per coordinate: 5 names the 1 m square, 1 the 10 km square the place lies in
 * Digits are cut off, never rounded, so that the name is that of the square the place lies in and its
 * digits are those of its whole-metre UTM. Throws geodesy.out-of-range beyond 84° N and 80° S.
 * Source: FGDC-STD-011-2001 (US National Grid), NGA.SIG.0012 §9; agrees with GEOTRANS 3.9 to 1 m.
 */
export function toUsng(place: LngLat, digits: 1 | 2 | 3 | 4 | 5 = 5): string {
  const { zone, band, eastingM, northingM } = toUtm(place);
  // A rounding step of the projection must not drop an exact grid corner into the square below it.
  const e = Math.floor(eastingM + 1e-6);
  const n = Math.floor(northingM + 1e-6);
  const column = COLUMNS[(zone - 1) % 3]![Math.floor(e / SQUARE_M) - 1];
  const row = ROWS[(Math.floor(n / SQUARE_M) + (zone % 2 === 0 ? 5 : 0)) % 20];
  const part = (metres: number) =>
    String(metres % SQUARE_M)
      .padStart(5, "0")
      .slice(0, digits);
  return `${String(zone).padStart(2, "0")}${band} ${column}${row} ${part(e)} ${part(n)}`;
}

const unreadable = (message: string, received: string, hint: string) =>
  new HardstandError("geodesy.coordinate-unreadable", message, { where: "coordinate", received, hint });

const SHAPE = /^(\d{1,2})\s*([A-Z])\s*([A-Z])\s*([A-Z])\s*(\d*)\s*(\d*)$/;
const POLAR = /^[ABYZ]\s*[A-Z]\s*[A-Z]\s*\d*\s*\d*$/;

/**
 * Reads a USNG/MGRS reference; null when the text has not that shape at all.
 * Throws geodesy.coordinate-unreadable when it has the shape but names no square, and geodesy.out-of-range on a polar one.
 */
export function readMgrs(text: string): MgrsSquare | null {
  const upper = text.trim().toUpperCase();
  if (POLAR.test(upper)) throw polar(text);
  const match = SHAPE.exec(upper);
  if (match === null) return null;
  const [, zoneText, band, columnLetter, rowLetter, first, second] = match as unknown as string[];
  const zone = Number(zoneText);
  if (zone < 1 || zone > 60) throw unreadable("the grid zone is not 1 to 60", text, "as in 14T NM 41830 09710");
  if (!BANDS.includes(band!))
    throw unreadable(`${band} is no latitude band`, text, "bands are C to X without I and O, as in 14T");
  const column = COLUMNS[(zone - 1) % 3]!.indexOf(columnLetter!);
  if (column < 0)
    throw unreadable(
      `zone ${zone} has no 100 km column ${columnLetter}`,
      text,
      `columns of zone ${zone} are ${COLUMNS[(zone - 1) % 3]}; check the zone number and the two letters`,
    );
  const rowIndex = ROWS.indexOf(rowLetter!);
  if (rowIndex < 0) throw unreadable(`${rowLetter} is no 100 km row`, text, "rows are A to V without I and O");

  const digits = second === "" ? first! : first! + second!;
  if (second !== "" && first!.length !== second!.length)
    throw unreadable("easting and northing have different numbers of digits", text, "give as many digits to each");
  if (digits.length % 2 !== 0 || digits.length > 10)
    throw unreadable("the digits do not split into two equal parts of at most five", text, "as in 14T NM 41830 09710");
  const count = digits.length / 2;
  const sizeM = SQUARE_M / 10 ** count;
  const east = count === 0 ? 0 : Number(digits.slice(0, count)) * sizeM;
  const north = count === 0 ? 0 : Number(digits.slice(count)) * sizeM;

  const eastingM = (column + 1) * SQUARE_M + east;
  const inCycle = ((rowIndex + 20 - (zone % 2 === 0 ? 5 : 0)) % 20) * SQUARE_M + north;
  const [southDeg, northDeg] = bandEdges(band!);
  const isNorth = band! >= "N";
  // Rows repeat every 2,000 km: take the repetition whose latitude is nearest the band's middle.
  let best = { northingM: Number.NaN, off: Number.POSITIVE_INFINITY };
  for (let northingM = inCycle; northingM < 10_000_000; northingM += ROW_CYCLE_M) {
    const { lat } = fromUtm({ zone, north: isNorth, eastingM, northingM });
    const off = Math.abs(lat - (southDeg + northDeg) / 2);
    if (off < best.off) best = { northingM, off };
  }
  if (!(best.off <= (northDeg - southDeg) / 2 + BAND_SLACK_DEG))
    throw unreadable(
      `square ${columnLetter}${rowLetter} does not lie in ${zone}${band}`,
      text,
      "check the band letter and the two square letters",
    );
  const at = (dM: number) => fromUtm({ zone, north: isNorth, eastingM: eastingM + dM, northingM: best.northingM + dM });
  return { corner: at(0), centre: at(sizeM / 2), sizeM, zone, eastingM, northingM: best.northingM };
}
