export { CASE_DEFAULTS } from "./cases/input.ts";
export { evaluateLoss, findModel } from "./evaluate.ts";
export { type ItmLink, itmAreaInto, itmPointToPointInto } from "./itm.kernel.ts";
export { type ItmArea, type ItmInput, type ItmResult, itmArea, itmLink, itmPointToPoint } from "./itm.ts";
export { ITM_PARTS, ITM_SLOTS, type ItmPart } from "./itm-profile.kernel.ts";
export {
  fresnelIntegrals,
  fresnelKirchhoff,
  knifeEdgeExactLossDb,
  knifeEdgeLossDb,
  roundedObstacleLossDb,
} from "./knife-edge.ts";
export { normalCdf, normalQuantile } from "./normal.ts";
export { type P452Input, type P452Result, p452, p452Obstacles } from "./p452.ts";
export { type Refractivity, refractivity, saturationPressureHPa } from "./p453.ts";
export { freeSpaceLossDb, slantKm } from "./p525.ts";
export { DELTA, DELTA_SLOTS, deltaBullingtonInto } from "./p526.kernel.ts";
export { type DeltaBullingtonLink, type DeltaBullingtonResult, deltaBullington, P526_RADIUS_KM } from "./p526.ts";
export { type GasAttenuation, gasAttenuation } from "./p676.ts";
export { LEAF_OFF_SHARE, type Leaf, P833_RANGE_MHZ, vegetationLossDb, vegetationParameters, woodland } from "./p833.ts";
export { type RainAttenuation, rainAttenuation } from "./p838.ts";
export { p1812Into } from "./p1812.kernel.ts";
export { locationLossDb, type P1812Input, type P1812Result, p1812, p1812Link } from "./p1812.ts";
export { P1812_PARTS, P1812_SLOTS, type P1812Link, type P1812Part } from "./p1812-parts.ts";
export {
  CLUTTER_HEIGHT_M,
  type ClutterType,
  heightGainLossDb,
  skyClutterLossDb,
  terrestrialClutterLossDb,
} from "./p2108.ts";
export { type BuildingClass, type EntryLoss, entryLoss, entryLossDb } from "./p2109.ts";
export { type LinkEnds, type RadioProfile, radioProfile } from "./profile.ts";
export {
  HANDOVER_FROM_KM,
  P1812_FROM_KM,
  type RefinedLoss,
  refinedLoss,
  refinedLossDb,
  SECOND_OPINION_FROM_KM,
  type SecondOpinion,
  secondOpinion,
} from "./refined.ts";
export { MODELS } from "./registry.ts";
export { type TwoRayResult, twoRay } from "./two-ray.ts";
export * from "./types.ts";
export { middleLatitudeDeg, ZONE, type ZoneLengths, zoneLengths } from "./zones.ts";
