export {
  type ClearanceMap,
  clearanceMap,
  type MapOptions,
  type NeededHeight,
  neededHeightMap,
} from "./clearance-map.ts";
export { type DishSettings, dishSettings } from "./dish.ts";
export { GSO_RADIUS_KM, lookAngles, visibleArc } from "./look-angles.ts";
export { refractionDeg } from "./refraction.ts";
export { skyFromSpot } from "./sky-from-spot.ts";
export type { SkySpot, SkyWhen, ViewOptions } from "./view.ts";
export { viewFromSpot } from "./view-from-spot.ts";
