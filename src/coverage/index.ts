export {
  lossProfile,
  PATH_NUMBERS,
  type PathEnd,
  type ProfileAnswer,
  type ProfileHooks,
  type ProfileLink,
  profileBatch,
} from "./profile.ts";
export { clearSweepOut, countSweepRays, createSweepOut, type SweepWanted, sweepLoss } from "./sweep-loss.ts";
export {
  createPointOut,
  type PointOut,
  ROUTE_OVER,
  ROUTE_THROUGH,
  type SweepScene,
  sweepPoint,
  sweepScene,
} from "./sweep-point.ts";
export {
  countVisibleRays,
  HIDDEN,
  NOT_EVALUATED,
  sweepVisible,
  VISIBILITY_UNKNOWN,
  VISIBLE,
  type VisibleJob,
} from "./sweep-visible.ts";
export {
  DEFAULT_EFFECTIVE_RADIUS_KM,
  DEFAULT_RAY_DENSITY,
  type SweepHooks,
  type SweepJob,
  type SweepOut,
  type SweepTerrain,
  type VegetationLoss,
} from "./types.ts";
