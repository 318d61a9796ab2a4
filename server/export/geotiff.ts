import { deflateSync } from "node:zlib";
import { HardstandError } from "../../src/errors/index.ts";
import type { LngLat } from "../../src/geodesy/types.ts";
import type { Grid } from "../../src/terrain/scene.ts";

/** Where a raster lies: a projected or geographic EPSG system, or a plan's local frame (transverse Mercator, k = 1, WGS 84). */
export type RasterSystem = { epsg: number; geographic?: boolean } | { localOrigin: LngLat };

type Samples = Float32Array | Int16Array | Uint8Array;

export interface Band {
  /** Row by row from the north-west; all bands of one type. In Float32Array NaN is unknown. */
  values: Samples;
  /** What the values are. */
  name?: string;
  unit?: string;
}

export interface RasterSpec {
  width: number;
  height: number;
  bands: readonly Band[];
  /** Outer corner of the north-west cell, and cell size, in units of the system. */
  west: number;
  north: number;
  cell: number;
  system: RasterSystem;
  /** EPSG code of the vertical system (5703 NAVD88, 5773 EGM96), where the values are heights. */
  verticalEpsg?: number;
  /** What unknown cells hold, and the nodata tag says. Default −9999 for floats, none for integers. */
  nodata?: number;
}

const TILE = 256;
const SHORT = 3;
const LONG = 4;
const DOUBLE = 12;
const ASCII = 2;

interface Tag {
  id: number;
  type: number;
  count: number;
  bytes: Uint8Array;
}

const shorts = (id: number, values: readonly number[]): Tag => ({
  id,
  type: SHORT,
  count: values.length,
  bytes: new Uint8Array(Uint16Array.from(values).buffer),
});
const longs = (id: number, values: readonly number[]): Tag => ({
  id,
  type: LONG,
  count: values.length,
  bytes: new Uint8Array(Uint32Array.from(values).buffer),
});
const doubles = (id: number, values: readonly number[]): Tag => ({
  id,
  type: DOUBLE,
  count: values.length,
  bytes: new Uint8Array(Float64Array.from(values).buffer),
});
const ascii = (id: number, text: string): Tag => {
  const bytes = new TextEncoder().encode(`${text}\0`);
  return { id, type: ASCII, count: bytes.length, bytes };
};

/** The GeoKey directory with its doubles and texts (OGC GeoTIFF 1.1, 19-008r4, §7 and annexes). */
function geoTags(system: RasterSystem, verticalEpsg: number | undefined): Tag[] {
  const keys: [key: number, location: number, count: number, value: number][] = [];
  const numbers: number[] = [];
  let text = "";
  const short = (key: number, value: number) => keys.push([key, 0, 1, value]);
  const real = (key: number, value: number) => {
    keys.push([key, 34736, 1, numbers.length]);
    numbers.push(value);
  };
  const words = (key: number, value: string) => {
    keys.push([key, 34737, value.length + 1, text.length]);
    text += `${value}|`;
  };
  const geographic = "epsg" in system && system.geographic === true;
  short(1024, geographic ? 2 : 1);
  short(1025, 1);
  if ("localOrigin" in system) {
    words(1026, "Local frame: transverse Mercator, k = 1, WGS 84");
    short(2048, 4326);
    short(3072, 32767);
    words(3073, "Local frame: transverse Mercator, k = 1, WGS 84");
    short(3074, 32767);
    short(3075, 1);
    short(3076, 9001);
    real(3080, system.localOrigin.lng);
    real(3081, system.localOrigin.lat);
    real(3082, 0);
    real(3083, 0);
    real(3092, 1);
  } else short(geographic ? 2048 : 3072, system.epsg);
  if (verticalEpsg !== undefined) {
    short(4096, verticalEpsg);
    short(4099, 9001);
  }
  keys.sort((a, b) => a[0] - b[0]);
  return [
    shorts(34735, [1, 1, 1, keys.length, ...keys.flat()]),
    ...(numbers.length > 0 ? [doubles(34736, numbers)] : []),
    ...(text === "" ? [] : [ascii(34737, text)]),
  ];
}

const rowLike = (samples: Samples): Samples =>
  samples instanceof Float32Array
    ? new Float32Array(TILE)
    : samples instanceof Int16Array
      ? new Int16Array(TILE)
      : new Uint8Array(TILE);

/** One tile, padded at the edges with its nearest cells, differenced by the predictor of its kind. */
function tileBytes(spec: RasterSpec, samples: Samples, col0: number, row0: number, nodata: number): Uint8Array {
  const { width, height } = spec;
  const size = samples.BYTES_PER_ELEMENT;
  const out = new Uint8Array(TILE * TILE * size);
  const row = rowLike(samples);
  const bytes = new Uint8Array(row.buffer);
  for (let y = 0; y < TILE; y++) {
    const from = Math.min(row0 + y, height - 1) * width;
    for (let x = 0; x < TILE; x++) {
      const z = samples[from + Math.min(col0 + x, width - 1)]!;
      row[x] = Number.isNaN(z) ? nodata : z;
    }
    const at = y * TILE * size;
    if (row instanceof Float32Array) {
      // Predictor 3 (TIFF Technical Note 3): planes of bytes, most significant first, then differences along the row.
      for (let x = 0; x < TILE; x++) for (let b = 0; b < 4; b++) out[at + b * TILE + x] = bytes[4 * x + 3 - b]!;
      for (let k = 4 * TILE - 1; k > 0; k--) out[at + k] = out[at + k]! - out[at + k - 1]!;
    } else {
      for (let x = TILE - 1; x > 0; x--) row[x] = row[x]! - row[x - 1]!;
      out.set(bytes, at);
    }
  }
  return out;
}

const escapeXml = (t: string): string => t.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;");
const item = (name: string, role: string, sample: number, text: string | undefined): string =>
  text === undefined ? "" : `<Item name="${name}" sample="${sample}" role="${role}">${escapeXml(text)}</Item>`;

/**
 * A GeoTIFF in memory: little-endian, tiles of 256, bands apart, deflate with the predictor of its kind, one exact nodata
 * value in tag and cells. Same values, same bytes.
 * Throws file.write-failed for values that do not fit the size, or a float that equals the nodata value.
 */
export function encodeRaster(spec: RasterSpec): Uint8Array {
  const { bands, width, height, cell } = spec;
  const kind = bands[0]!.values;
  for (const { values } of bands)
    if (values.length !== width * height || values.BYTES_PER_ELEMENT !== kind.BYTES_PER_ELEMENT)
      throw new HardstandError("file.write-failed", "a raster's values do not fit its size or one another", {
        received: `${values.length} of ${values.BYTES_PER_ELEMENT} bytes for ${width} × ${height}`,
      });
  const isFloat = kind instanceof Float32Array;
  const nodata = spec.nodata ?? (isFloat ? -9999 : null);
  if (isFloat && (Math.fround(nodata!) !== nodata || bands.some((b) => b.values.includes(nodata!))))
    throw new HardstandError("file.write-failed", "the nodata value is not exact or is a real value", {
      received: nodata,
    });
  const tiles: Uint8Array[] = [];
  for (const { values } of bands)
    for (let row = 0; row < height; row += TILE)
      for (let col = 0; col < width; col += TILE)
        tiles.push(deflateSync(tileBytes(spec, values, col, row, nodata ?? 0), { level: 9 }));
  const items = bands
    .map((b, k) => item("DESCRIPTION", "description", k, b.name) + item("UNITTYPE", "unittype", k, b.unit))
    .join("");
  const each = (value: number): number[] => bands.map(() => value);
  const tags: Tag[] = [
    longs(256, [width]),
    longs(257, [height]),
    shorts(258, each(kind.BYTES_PER_ELEMENT * 8)),
    shorts(259, [8]),
    shorts(262, [1]),
    shorts(277, [bands.length]),
    shorts(284, [bands.length > 1 ? 2 : 1]),
    shorts(317, [isFloat ? 3 : 2]),
    shorts(322, [TILE]),
    shorts(323, [TILE]),
    longs(
      324,
      tiles.map(() => 0),
    ),
    longs(
      325,
      tiles.map((t) => t.length),
    ),
    ...(bands.length > 1
      ? [
          shorts(
            338,
            bands.slice(1).map(() => 0),
          ),
        ]
      : []),
    shorts(339, each(isFloat ? 3 : kind instanceof Int16Array ? 2 : 1)),
    doubles(33550, [cell, cell, 0]),
    doubles(33922, [0, 0, 0, spec.west, spec.north, 0]),
    ...geoTags(spec.system, spec.verticalEpsg),
    ...(items === "" ? [] : [ascii(42112, `<GDALMetadata>${items}</GDALMetadata>`)]),
    ...(nodata === null ? [] : [ascii(42113, String(nodata))]),
  ].sort((a, b) => a.id - b.id);
  return assemble(tags, tiles);
}

/** A plan's arrays as a GeoTIFF in its local frame, one band each; NaN becomes −9999, which the nodata tag says. */
export function encodeGeoTiff(scene: { grid: Grid; origin: LngLat; bands: readonly Band[] }): Uint8Array {
  const { grid, origin, bands } = scene;
  return encodeRaster({
    width: grid.cols,
    height: grid.rows,
    bands,
    west: grid.westM,
    north: grid.northM,
    cell: grid.cellM,
    system: { localOrigin: origin },
  });
}

function assemble(tags: Tag[], tiles: readonly Uint8Array[]): Uint8Array {
  const head = 8 + 2 + 12 * tags.length + 4;
  let at = head;
  const places = tags.map((t) => {
    if (t.bytes.length <= 4) return -1;
    const place = at;
    at += t.bytes.length + (t.bytes.length % 2);
    return place;
  });
  const offsets = new Uint32Array(tiles.length);
  tiles.forEach((t, i) => {
    offsets[i] = at;
    at += t.length + (t.length % 2);
  });
  const tileOffsets = tags.find((t) => t.id === 324)!;
  tileOffsets.bytes = new Uint8Array(offsets.buffer);
  const out = new Uint8Array(at);
  const view = new DataView(out.buffer);
  out.set([0x49, 0x49]);
  view.setUint16(2, 42, true);
  view.setUint32(4, 8, true);
  view.setUint16(8, tags.length, true);
  tags.forEach((t, i) => {
    const entry = 10 + 12 * i;
    view.setUint16(entry, t.id, true);
    view.setUint16(entry + 2, t.type, true);
    view.setUint32(entry + 4, t.count, true);
    if (places[i] === -1) out.set(t.bytes, entry + 8);
    else {
      view.setUint32(entry + 8, places[i]!, true);
      out.set(t.bytes, places[i]!);
    }
  });
  tiles.forEach((t, i) => {
    out.set(t, offsets[i]!);
  });
  return out;
}
