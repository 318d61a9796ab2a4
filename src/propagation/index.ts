export { evaluateLoss, findModel } from "./evaluate.ts";
export {
  fresnelIntegrals,
  fresnelKirchhoff,
  knifeEdgeExactLossDb,
  knifeEdgeLossDb,
  roundedObstacleLossDb,
} from "./knife-edge.ts";
export { normalCdf, normalQuantile } from "./normal.ts";
export { freeSpaceLossDb, slantKm } from "./p525.ts";
export { DELTA, DELTA_SLOTS, deltaBullingtonInto } from "./p526.kernel.ts";
export { type DeltaBullingtonLink, type DeltaBullingtonResult, deltaBullington, P526_RADIUS_KM } from "./p526.ts";
export { P1812_PARTS, P1812_SLOTS, type P1812Link, type P1812Part, p1812Into } from "./p1812.kernel.ts";
export { locationLossDb, type P1812Input, type P1812Result, p1812, p1812Link } from "./p1812.ts";
export { type LinkEnds, type RadioProfile, radioProfile } from "./profile.ts";
export { MODELS } from "./registry.ts";
export { type TwoRayResult, twoRay } from "./two-ray.ts";
export * from "./types.ts";
export { middleLatitudeDeg, ZONE, type ZoneLengths, zoneLengths } from "./zones.ts";
