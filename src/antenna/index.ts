export { type MeasuredPattern, measuredGainDb, readMeasuredPattern } from "./measured.ts";
export { electricalTiltDeg, K_IMPROVED, K_TYPICAL, omniBeamwidthDeg, omniGainDb } from "./omni.ts";
export {
  compilePattern,
  type Pattern,
  type PatternContext,
  patternGainDb,
  patternPreview,
  SECTOR_WIDTH_DEG,
} from "./pattern.ts";
export { sectorElevationWidthDeg, sectorGainDb } from "./sector.ts";
