export { type ApartPlace, apartPlace } from "./apart-place.ts";
export { type CableRun, cableRun } from "./cable-run.ts";
export {
  type ClearanceMap,
  clearanceMap,
  type MapOptions,
  type NeededHeight,
  neededHeightMap,
} from "./clearance-map.ts";
export { type DishSettings, dishSettings } from "./dish.ts";
export { GSO_RADIUS_KM, lookAngles, visibleArc } from "./look-angles.ts";
export {
  type HorizonDifference,
  type HorizonReading,
  horizonDifferences,
  type MeasuredHorizon,
  measuredAt,
  measuredHorizon,
  mergeHorizon,
  parseHorizon,
} from "./measured-horizon.ts";
export { refractionDeg } from "./refraction.ts";
export { type RoofPlace, roofPlaces } from "./roofs.ts";
export { skyFromSpot } from "./sky-from-spot.ts";
export type { SkySpot, SkyWhen } from "./view.ts";
export { type ViewOptions, viewFromSpot } from "./view-from-spot.ts";
