export { clearSweepOut, countSweepRays, createSweepOut, type SweepWanted, sweepLoss } from "./sweep-loss.ts";
export {
  DEFAULT_EFFECTIVE_RADIUS_KM,
  DEFAULT_RAY_DENSITY,
  type SweepHooks,
  type SweepJob,
  type SweepOut,
  type SweepTerrain,
  type VegetationLoss,
} from "./types.ts";
