import fc from "fast-check";
import { expect, test } from "vitest";
import { HardstandError } from "../../src/errors/index.ts";
import {
  formatCoordinate,
  geodesicInverse,
  type LngLat,
  type Notation,
  type ParseOptions,
  parseCoordinate,
} from "../../src/geodesy/index.ts";
import { evenly } from "../support/arbitrary.ts";

const codes = (text: string, options?: ParseOptions) => parseCoordinate(text, options).warnings.map((w) => w.code);
const DMS: LngLat = { lng: -(96 + 3 / 60 + 12 / 3600), lat: 41 + 14 / 60 + 30 / 3600 };

test.each<[string, Notation]>([
  ["41 14 30 N, 96 3 12 W", "dms"],
  ["41°14'30\"N 96°03'12\"W", "dms"],
  ["41°14′30″ N, 96°3′12″ W", "dms"],
  ["N41°14'30\" W96°03'12\"", "dms"],
  ["N 41 14 30 W 96 03 12", "dms"],
  ["41 deg 14 min 30 sec north 96 deg 3 min 12 sec west", "dms"],
  ["411430N 0960312W", "dms"],
  ["41°14.5'N 96°03.2'W", "dm"],
  ["41-14.500N 96-03.200W", "dm"],
  ["4114.5N 09603.2W", "dm"],
  ["4114.5N 9603.2W", "dm"],
  ["W 96 03.2, N 41 14.5", "dm"],
  ["41.2416667N 96.0533333W", "dd"],
  ["41.2416667° N, 96.0533333° W", "dd"],
  ["41.2416667N96.0533333W", "dd"],
  ["lat 41.2416667 lon -96.0533333", "dd"],
  ["Longitude: -96.0533333, Latitude: 41.2416667", "dd"],
])("%s", (text, notation) => {
  const read = parseCoordinate(text);
  expect(read.notation).toBe(notation);
  expect(read.warnings).toEqual([]);
  expect(geodesicInverse(read.place, DMS).distanceM).toBeLessThan(0.02);
});

test("plain pairs: order, doubt and the area's help", () => {
  expect(parseCoordinate("41.24, -96.05").place).toEqual({ lng: -96.05, lat: 41.24 });
  expect(codes("41.24, -96.05")).toEqual([]);
  expect(parseCoordinate("-96.05, 41.24").place).toEqual({ lng: -96.05, lat: 41.24 });
  expect(codes("-96.05, 41.24")).toEqual(["coordinate.axes-swapped"]);
  expect(parseCoordinate("12.5, 41.9", { order: "lng-lat" })).toMatchObject({
    place: { lng: 12.5, lat: 41.9 },
    warnings: [],
  });
  expect(parseCoordinate("41.9, 12.5").place).toEqual({ lng: 12.5, lat: 41.9 });
  expect(codes("41.9, 12.5")).toEqual(["coordinate.axes-ambiguous"]);
  expect(parseCoordinate("41,24; -96,05").place).toEqual({ lng: -96.05, lat: 41.24 });
  expect(parseCoordinate("41 14 30 -96 3 12").place.lng).toBeCloseTo(DMS.lng, 9);
  expect(parseCoordinate("−41.5 150.25").place).toEqual({ lng: 150.25, lat: -41.5 });
});

test("the area finds a lost minus and swapped axes", () => {
  const near = { lng: -96, lat: 41 };
  expect(codes("41.24N 96.05W", { near })).toEqual([]);
  expect(codes("41.24, 96.05", { near })).toContain("coordinate.lost-minus");
  expect(codes("-33.9, 18.4", { near: { lng: 18.4, lat: 33.9 } })).toContain("coordinate.lost-minus");
  expect(codes("18.4, -33.9", { near: { lng: 18.4, lat: -33.9 } })).toContain("coordinate.axes-swapped");
  expect(codes("10, 20", { near })).toContain("coordinate.far");
});

test("readings that could have been meant otherwise are named", () => {
  expect(codes("41.1430, -96.0312")).toContain("coordinate.dms-as-decimal");
  expect(codes("41.1470, -96.0312")).not.toContain("coordinate.dms-as-decimal");
  expect(codes("-96.05 W 41.24 N")).toEqual(["coordinate.double-sign"]);
  expect(parseCoordinate("-96.05 W 41.24 N").place.lng).toBe(-96.05);
  expect(codes("0, 0")).toContain("coordinate.zero");
  expect(parseCoordinate("10N 190E")).toMatchObject({ place: { lng: -170, lat: 10 } });
  expect(codes("10N 190E")).toEqual(["coordinate.longitude-wrapped"]);
});

test("grids", () => {
  const usng = parseCoordinate("14T NM 41830 09710");
  expect(usng).toMatchObject({ notation: "usng", warnings: [] });
  for (const same of ["14TNM4183009710", "14t nm 4183009710", "MGRS: 14T NM 41830 09710", "USNG 14TNM 41830 09710"])
    expect(parseCoordinate(same).place).toEqual(usng.place);
  const utm = parseCoordinate("14T 541830 4609710");
  expect(utm).toMatchObject({ notation: "utm", warnings: [] });
  expect(geodesicInverse(usng.place, utm.place).distanceM).toBeCloseTo(Math.SQRT1_2, 3);
  for (const same of ["UTM zone 14N 541830 4609710", "14 T 541830mE 4609710mN", "14T E541830 N4609710"])
    expect(parseCoordinate(same).place).toEqual(utm.place);
  expect(codes("14T NM 41 09")).toEqual(["coordinate.coarse"]);
  expect(codes("14 541830 4609710")).toEqual(["coordinate.hemisphere-missing"]);
  expect(codes("14J 541830 4609710")).toEqual(["coordinate.band-disagrees"]);
  expect(codes("10S 541830 4009710")).toEqual(["coordinate.band-s-ambiguous"]);
  expect(parseCoordinate("10S 541830 4009710").place.lat).toBeCloseTo(36.23, 1);
  expect(parseCoordinate("56 south 334873 6252266").place.lat).toBeCloseTo(-33.857, 3);
});

test("a missing grid zone is asked for, or taken from the area with a warning", () => {
  expect(() => parseCoordinate("NM 41830 09710")).toThrow(/grid zone is missing/);
  const near = { lng: -98.4, lat: 41.5 };
  const read = parseCoordinate("NM 41830 09710", { near });
  expect(read.warnings.map((w) => w.code)).toEqual(["coordinate.grid-zone-missing"]);
  expect(read.place).toEqual(parseCoordinate("14T NM 41830 09710").place);
});

test.each([
  "",
  "   ",
  "here",
  "41.24",
  "41.24N",
  "91N 10E",
  "41.24N 12.5S",
  "-41.24N 12.5E",
  "41 75 00 N 96 3 12 W",
  "41.5 14 N 96 3 W",
  "1 2 3",
  "1 2 3 4 5 6 7 8",
  "41.24, 400",
  "14I NM 41830 09710",
  "61T NM 41830 09710",
  "14T AM 41830 09710",
  "14T NM 4183 09710",
  "14T NM 418300971",
  "14C NM 41830 09710",
  "541830 4609710",
  "99T 541830 4609710",
  "41.24 <script> -96.05",
  `4${"1".repeat(300)}`,
])("%j is refused with what is wrong and what to do", (text) => {
  try {
    parseCoordinate(text);
    expect.unreachable();
  } catch (thrown) {
    expect(thrown).toBeInstanceOf(HardstandError);
    const error = thrown as HardstandError;
    expect(error.code).toBe("geodesy.coordinate-unreadable");
    expect(error.body.hint).not.toBe("");
  }
});

test("polar grid references end in a clear error", () => {
  expect(() => parseCoordinate("ZAH 00000 00000")).toThrow(/polar grid/);
  expect(() => formatCoordinate({ lng: 0, lat: 89 }, "usng")).toThrow(/polar grid/);
  expect(formatCoordinate({ lng: 0, lat: 90 }, "dm")).toBe("90°00.000'N 00°00.000'E");
});

const NOTATIONS: [Notation, number][] = [
  ["dd", 1.1],
  ["dm", 1.9],
  ["dms", 3.2],
  ["utm", 1.5],
  ["usng", 0.8],
];
test.each(NOTATIONS)("what %s writes reads back without a warning within %f m", (notation, metres) => {
  fc.assert(
    fc.property(evenly(-180, 180), evenly(-79.9, 83.9), (lng, lat) => {
      fc.pre(Math.abs(lng) + Math.abs(lat) > 1e-4); // warned about
      const text = formatCoordinate({ lng, lat }, notation);
      expect(text).not.toMatch(/\b60(\.0*)?['"]/);
      const read = parseCoordinate(text);
      expect(read.notation).toBe(notation);
      if (!/^\d\dS/.test(text)) expect(read.warnings).toEqual([]);
      expect(geodesicInverse(read.place, { lng, lat }).distanceM).toBeLessThan(metres);
      // The centre of a square that a zone's edge cuts may lie in the next zone.
      const again = formatCoordinate(read.place, notation);
      if (notation === "usng" && again.slice(0, 3) === text.slice(0, 3)) expect(again).toBe(text);
    }),
    { seed: 5, numRuns: 2000 },
  );
});

test("minutes and seconds never read 60", () => {
  expect(formatCoordinate({ lng: -0.999999999, lat: 1.999999999 }, "dms")).toBe("02°00'00.0\"N 01°00'00.0\"W");
  expect(formatCoordinate({ lng: 179.9999999, lat: -0.9999999 }, "dm")).toBe("01°00.000'S 180°00.000'E");
});

test("any text is answered or refused, never anything else", () => {
  const bits = fc.constantFrom(
    "41",
    "14.5",
    "-96",
    "N",
    "S",
    "E",
    "W",
    "°",
    "'",
    '"',
    ",",
    ";",
    " ",
    "14T",
    "NM",
    "41830",
  );
  fc.assert(
    fc.property(fc.array(bits, { maxLength: 12 }), (parts) => {
      try {
        const { place } = parseCoordinate(parts.join(""));
        expect(Math.abs(place.lat)).toBeLessThanOrEqual(90);
        expect(Math.abs(place.lng)).toBeLessThanOrEqual(180);
      } catch (thrown) {
        expect(thrown).toBeInstanceOf(HardstandError);
      }
    }),
    { seed: 9, numRuns: 20_000 },
  );
});
