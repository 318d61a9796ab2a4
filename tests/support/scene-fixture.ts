import { type CollectionOf, withIds } from "../../src/plan/collection.ts";
import type { LoadedPlan, Plan } from "../../src/plan/types.ts";
import { type MemoryRasterSpec, memoryRaster } from "./memory-raster.ts";

const none = { type: "FeatureCollection" as const, features: [] };

/** A plan with inline collections as it stands after loading. */
export function loadedPlan(plan: Plan, buildings: CollectionOf<"buildings"> | null = null): LoadedPlan {
  return {
    plan,
    points: withIds("points", plan.points as CollectionOf<"points">),
    parking: withIds("parking", plan.parking as CollectionOf<"parking">),
    hazards: withIds("hazards", (plan.hazards ?? none) as CollectionOf<"hazards">),
    drops: withIds("drops", (plan.backhaul?.drops ?? none) as CollectionOf<"drops">),
    donors: withIds("donors", (plan.backhaul?.donors ?? none) as CollectionOf<"donors">),
    buildings: buildings === null ? null : withIds("buildings", buildings),
    hashes: {},
    warnings: [],
  };
}

/** Metres east and north of 98.5° W, 41.6° N as degrees: near enough for placing test features. */
export const near = (eastM: number, northM: number): [number, number] => [
  -98.5 + eastM / (111_412 * Math.cos((41.6 * Math.PI) / 180)),
  41.6 + northM / 111_070,
];

export const square = (eastM: number, northM: number, sideM: number) => {
  const h = sideM / 2;
  return {
    type: "Polygon" as const,
    coordinates: [
      [
        near(eastM - h, northM - h),
        near(eastM + h, northM - h),
        near(eastM + h, northM + h),
        near(eastM - h, northM + h),
        near(eastM - h, northM - h),
      ],
    ],
  };
};

/** A building collection from boxes. */
export const buildings = (...rows: { east: number; north: number; side: number; properties?: object }[]) =>
  ({
    type: "FeatureCollection",
    features: rows.map((r) => ({
      type: "Feature",
      geometry: square(r.east, r.north, r.side),
      properties: r.properties ?? {},
    })),
  }) as CollectionOf<"buildings">;

const TM = "+proj=tmerc +lat_0=41.6 +lon_0=-98.5 +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs";

/** A raster of 1 m cells, 1 km a side, centred on 98.5° W, 41.6° N; heights by metres east and north of there. */
export const fieldRaster = (heights: (eastM: number, northM: number) => number, over: Partial<MemoryRasterSpec> = {}) =>
  memoryRaster({ proj: TM, west: -500, north: 500, cell: 1, width: 1000, height: 1000, heights, ...over });
