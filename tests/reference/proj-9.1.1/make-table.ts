/**
 * Makes src/terrain/reader/crs-rows.json and crs-points.json from what make_points.py wrote: rows enter only when the
 * projection library gives PROJ's coordinates at three places inside the row's own area.
 * Run: tsx tests/reference/proj-9.1.1/make-table.ts candidates.json
 */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import proj4 from "proj4";

interface Candidate {
  code: number;
  name: string;
  base: number;
  proj: string;
  points: [number, number, number, number][];
  towgs84: number[];
  accuracyM: number | null;
  betterGrid: boolean;
}

/** Coordinates agree to this, metres. */
const EXACT_M = 0.001;
/** Datums treated as WGS 84 where PROJ applies a small shift: within a metre they count as verified. */
const AGREE_M = 1;
/** Between a metre and this they are taken as not verified (HARN and CSRS realizations of NAD83). */
const ROUGH_M = 3;

const candidates = JSON.parse(readFileSync(process.argv[2]!, "utf8")) as Candidate[];
const shifts: string[] = [];
const conversions: string[] = [];
const rows: Record<string, [name: string, conversion: number, shift: number, accuracyM: number, verified: 0 | 1]> = {};
const points: Record<string, [number, number, number, number, number][]> = {};
const indexOf = (list: string[], item: string): number =>
  list.includes(item) ? list.indexOf(item) : list.push(item) - 1;
const left: Record<string, number> = {};

for (const c of candidates) {
  const words = c.proj
    .split(/\s+/)
    .filter((w) => !/^\+(type|no_defs|wktext|towgs84|datum|ellps|a|b|rf|units=m$)/.test(w))
    .filter((w) => w !== "+units=m");
  const ellipsoid = /\+datum=WGS84/.test(c.proj)
    ? "+datum=WGS84"
    : c.proj
        .split(/\s+/)
        .filter((w) => /^\+(ellps|a|b|rf)=/.test(w))
        .join(" ");
  const seven = c.towgs84.length === 3 ? [...c.towgs84, 0, 0, 0, 0] : c.towgs84;
  const shift =
    ellipsoid === "+datum=WGS84"
      ? ellipsoid
      : `${ellipsoid} +towgs84=${seven.map((v) => Number(v.toPrecision(12))).join(",")}`;
  const definition = `${words.join(" ")} ${shift}`;
  const unitM = /\+units=us-ft/.test(definition)
    ? 1200 / 3937
    : /\+units=ft/.test(definition)
      ? 0.3048
      : Number(/\+to_meter=(\S+)/.exec(definition)?.[1] ?? 1);
  let worst = 0;
  try {
    const convert = proj4("+proj=longlat +datum=WGS84", definition);
    for (const [lng, lat, x, y] of c.points) {
      const [px, py] = convert.forward([lng, lat]) as [number, number];
      const back = convert.inverse([x, y]) as [number, number];
      const turned =
        Math.max(Math.abs(back[0] - lng) * Math.cos((lat * Math.PI) / 180), Math.abs(back[1] - lat)) * 111_000;
      worst = Math.max(worst, Math.hypot(px - x, py - y) * unitM, turned);
    }
  } catch {
    worst = Infinity;
  }
  if (!(worst <= (c.base === 4152 || c.base === 4617 ? ROUGH_M : AGREE_M))) {
    const method = /\+proj=(\w+)/.exec(c.proj)?.[1] ?? "?";
    left[`${method} on ${c.base}`] = (left[`${method} on ${c.base}`] ?? 0) + 1;
    continue;
  }
  const exact = worst <= EXACT_M;
  const verified = worst <= AGREE_M && !c.betterGrid;
  const accuracyM = Math.max(c.accuracyM ?? 5, exact ? 0 : worst <= AGREE_M ? 2 : 3, c.betterGrid ? 5 : 0);
  rows[c.code] = [c.name, indexOf(conversions, words.join(" ")), indexOf(shifts, shift), accuracyM, verified ? 1 : 0];
  points[c.code] = c.points
    .slice(0, 2)
    .map(([lng, lat, x, y]) => [lng, lat, x, y, exact ? EXACT_M : worst <= AGREE_M ? AGREE_M : ROUGH_M]);
}
console.log(`${Object.keys(rows).length} of ${candidates.length} rows; left out:`, left);
const lines = (o: Record<string, unknown>): string =>
  `{\n${Object.entries(o)
    .map(([k, v]) => `"${k}":${JSON.stringify(v)}`)
    .join(",\n")}\n}`;
const root = join(import.meta.dirname, "..", "..", "..");
writeFileSync(
  join(root, "src", "terrain", "reader", "crs-rows.json"),
  `{"source":"EPSG registry as shipped with PROJ 9.1.1; each row reproduces PROJ's coordinates",\n"conversions":[\n${conversions.map((c) => JSON.stringify(c)).join(",\n")}\n],\n"shifts":${JSON.stringify(shifts)},\n"rows":${lines(rows)}}\n`,
);
writeFileSync(
  join(import.meta.dirname, "crs-points.json"),
  `{"source":"PROJ 9.1.1 (Debian 12), EPSG:4326 to each system, east before north: longitude, latitude, x, y, tolerance in metres","points":${lines(points)}}\n`,
);
