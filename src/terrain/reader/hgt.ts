import { HardstandError } from "../../errors/index.ts";
import type { Layout } from "./layout.ts";

/** Samples along one side of an SRTM tile, by spacing: 3, 1 and ½ arc-second. */
const SIDES = [1201, 3601, 7201];

export const isHgtName = (name: string): boolean => /\.hgt$/i.test(name);

/** South-west corner of an SRTM tile from its file name, degrees; null when the name does not say. */
export function hgtCorner(fileName: string): { lng: number; lat: number } | null {
  const base = fileName.split(/[\\/]/).pop() ?? "";
  const m = /(?:^|[^A-Za-z])?([NSns])(\d{1,2})([EWew])(\d{1,3})(?!\d)/.exec(base);
  if (m === null) return null;
  const lat = Number(m[2]) * (m[1]!.toUpperCase() === "S" ? -1 : 1);
  const lng = Number(m[4]) * (m[3]!.toUpperCase() === "W" ? -1 : 1);
  return lat >= -90 && lat < 90 && lng >= -180 && lng < 180 ? { lng, lat } : null;
}

/**
 * Layout of a raw SRTM height file: square, big-endian 16-bit metres, north row first, edge samples on whole degrees.
 * @throws terrain.truncated or terrain.corrupt when the length is not that of a whole tile
 * Source: NASA/NGA SRTM data set documentation (SRTM_Topo, "Data Formats").
 */
export function hgtLayout(name: string, size: number): Layout {
  const side = SIDES.find((s) => 2 * s * s === size);
  if (side === undefined) {
    const larger = SIDES.find((s) => 2 * s * s > size);
    throw new HardstandError(
      larger === undefined ? "terrain.corrupt" : "terrain.truncated",
      "the height file does not have the length of a whole tile",
      {
        where: name,
        received: `${size} bytes`,
        hint: `a tile is ${SIDES.map((s) => `${2 * s * s} bytes (${s} × ${s})`).join(" or ")}; fetch it again`,
      },
    );
  }
  const rows = 64;
  const blocks = Array.from({ length: Math.ceil(side / rows) }, (_, i) => ({
    offset: i * rows * side * 2,
    length: Math.min(rows, side - i * rows) * side * 2,
  }));
  return {
    width: side,
    height: side,
    bits: 16,
    kind: "int",
    samplesPerBlockPixel: 1,
    bands: 1,
    compression: 1,
    predictor: 1,
    lercParameters: [],
    reversedBits: false,
    tiled: false,
    blockWidth: side,
    blockHeight: rows,
    acrossCount: 1,
    downCount: blocks.length,
    blocks,
    rowBytes: side * 2,
    photometric: 1,
    palette: false,
    absentBlocks: 0,
  };
}
