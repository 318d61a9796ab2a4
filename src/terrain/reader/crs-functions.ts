import proj4 from "proj4";
import type { CrsInfo } from "./crs.ts";

/** Functions between a CRS and WGS 84 longitude and latitude. */
export function crsFunctions(info: Pick<CrsInfo, "definition">): {
  toLngLat(x: number, y: number): [number, number];
  fromLngLat(lng: number, lat: number): [number, number];
} {
  if (info.definition === "+proj=longlat +datum=WGS84")
    return { toLngLat: (x, y) => [x, y], fromLngLat: (lng, lat) => [lng, lat] };
  const converter = proj4(info.definition, "+proj=longlat +datum=WGS84");
  const run = (f: (p: [number, number]) => [number, number], a: number, b: number): [number, number] => {
    if (!Number.isFinite(a) || !Number.isFinite(b)) return [Number.NaN, Number.NaN];
    try {
      const [x, y] = f([a, b]);
      return [x, y];
    } catch {
      return [Number.NaN, Number.NaN]; // outside what the projection can show
    }
  };
  return {
    toLngLat: (x, y) => run((p) => converter.forward(p), x, y),
    fromLngLat: (lng, lat) => run((p) => converter.inverse(p), lng, lat),
  };
}
