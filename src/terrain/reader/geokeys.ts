import { type Ifd, numbers, text } from "./tiff-ifd.ts";
import { TAG } from "./tiff-tags.ts";

/** GeoTIFF keys this reader uses. Source: OGC GeoTIFF 1.1 (19-008r4), annex B and D. */
export const KEY = {
  modelType: 1024,
  rasterType: 1025,
  citation: 1026,
  geodeticCrs: 2048,
  geodeticCitation: 2049,
  geodeticDatum: 2050,
  primeMeridian: 2051,
  angularUnits: 2054,
  angularUnitSize: 2055,
  ellipsoid: 2056,
  semiMajor: 2057,
  semiMinor: 2058,
  inverseFlattening: 2059,
  primeMeridianLng: 2061,
  toWgs84: 2062,
  projectedCrs: 3072,
  projectedCitation: 3073,
  projection: 3074,
  method: 3075,
  linearUnits: 3076,
  linearUnitSize: 3077,
  standardParallel1: 3078,
  standardParallel2: 3079,
  naturalOriginLng: 3080,
  naturalOriginLat: 3081,
  falseEasting: 3082,
  falseNorthing: 3083,
  falseOriginLng: 3084,
  falseOriginLat: 3085,
  falseOriginEasting: 3086,
  falseOriginNorthing: 3087,
  centerLng: 3088,
  centerLat: 3089,
  centerEasting: 3090,
  centerNorthing: 3091,
  scaleAtNaturalOrigin: 3092,
  scaleAtCenter: 3093,
  azimuth: 3094,
  straightVerticalPoleLng: 3095,
  rectifiedGridAngle: 3096,
  verticalCrs: 4096,
  verticalCitation: 4097,
  verticalDatum: 4098,
  verticalUnits: 4099,
} as const;

export const USER_DEFINED = 32767;

export class GeoKeys {
  private readonly values = new Map<number, number[] | string>();
  /** True when the directory contradicts itself; then no key is believed. */
  readonly damaged: boolean;
  readonly present: boolean;

  constructor(ifd: Ifd) {
    const dir = numbers(ifd, TAG.geoKeyDirectory);
    this.present = dir !== undefined;
    this.damaged = dir !== undefined && !this.fill(ifd, dir);
    if (this.damaged) this.values.clear();
  }

  private fill(ifd: Ifd, dir: number[]): boolean {
    const count = dir[3];
    if (count === undefined || dir[0] !== 1 || dir.length < 4 + 4 * count) return false;
    const doubles = numbers(ifd, TAG.geoDoubleParams) ?? [];
    const ascii = text(ifd, TAG.geoAsciiParams) ?? "";
    for (let i = 0; i < count; i++) {
      const [key, location, n, value] = dir.slice(4 + 4 * i, 8 + 4 * i) as [number, number, number, number];
      if (location === 0) this.values.set(key, [value]);
      else if (location === TAG.geoDoubleParams) {
        if (value + n > doubles.length) return false;
        this.values.set(key, doubles.slice(value, value + n));
      } else if (location === TAG.geoAsciiParams) {
        if (value > ascii.length) return false;
        this.values.set(key, ascii.slice(value, value + n).replace(/\|+\s*$/, ""));
      } else if (location === TAG.geoKeyDirectory) {
        if (value + n > dir.length) return false;
        this.values.set(key, dir.slice(value, value + n));
      }
    }
    return true;
  }

  number(key: number): number | undefined {
    const v = this.values.get(key);
    return Array.isArray(v) ? v[0] : undefined;
  }

  list(key: number): number[] | undefined {
    const v = this.values.get(key);
    return Array.isArray(v) ? v : undefined;
  }

  text(key: number): string | undefined {
    const v = this.values.get(key);
    return typeof v === "string" && v.length > 0 ? v : undefined;
  }
}
