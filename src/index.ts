/**
 * Hardstand as a library: pure computation, no file and no network access.
 * Build a scene with `buildScene` from rasters of your own, a scenario with `makeScenario`, then `rank`.
 */
export * from "./errors/index.ts";
export { createLocalFrame, formatCoordinate, parseCoordinate, toUsng } from "./geodesy/index.ts";
export { coverage } from "./placement/cover.ts";
export { localExecutor, makeScenario, pathAnswer, rank, whenOf } from "./placement/index.ts";
export type * from "./plan/outputs/types.ts";
export { parsePlan } from "./plan/parse.ts";
export type { LoadedPlan, Plan } from "./plan/types.ts";
export { evaluateLoss, MODELS } from "./propagation/index.ts";
export { lookAngles } from "./satellite/index.ts";
