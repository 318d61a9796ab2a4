export { evaluateLoss, findModel } from "./evaluate.ts";
export {
  fresnelIntegrals,
  fresnelKirchhoff,
  knifeEdgeExactLossDb,
  knifeEdgeLossDb,
  roundedObstacleLossDb,
} from "./knife-edge.ts";
export { freeSpaceLossDb, slantKm } from "./p525.ts";
export { DELTA, DELTA_SLOTS, deltaBullingtonInto } from "./p526.kernel.ts";
export { type DeltaBullingtonLink, type DeltaBullingtonResult, deltaBullington, P526_RADIUS_KM } from "./p526.ts";
export { type LinkEnds, type RadioProfile, radioProfile } from "./profile.ts";
export { MODELS } from "./registry.ts";
export { type TwoRayResult, twoRay } from "./two-ray.ts";
export * from "./types.ts";
