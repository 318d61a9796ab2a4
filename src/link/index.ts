export { type CompileArgs, type CompiledNeed, compileNeed } from "./compile.ts";
export {
  channelCapacityMbps,
  DEFAULT_ACTIVITY,
  FULL_SHARE,
  type LoadAnswer,
  type LoadRow,
  type ServiceLoad,
  serviceLoad,
} from "./load.ts";
export {
  type CableType,
  CROWD_LOSS_DB,
  cableLossDb,
  frequencyShiftDb,
  serviceCableLossDb,
  serviceFrequencyMHz,
  TENT_LOSS_DB,
  VEHICLE_LOSS_DB,
} from "./losses.ts";
export {
  bestUplink,
  blocksFor,
  DOWNLINK_CURVE,
  noiseDbm,
  perElementDbm,
  RB_HZ,
  RE_HZ,
  requiredSinrDb,
  resourceBlocks,
  spectralEfficiency,
  UPLINK_CURVE,
  uplinkMaplDb,
  uplinkRate,
} from "./lte.ts";
export { TERMINAL_NOISE_FIGURE_DB, UNIT_NOISE_FIGURE_DB } from "./needs.ts";
export { inverseNormal, normalCdf } from "./normal.ts";
export { areaMarginDb, areaReliability, pointMarginDb, pointReliability } from "./reliability.ts";
export { DEFAULT_AREA_WIDTH_M, DEFAULT_MODEL_SIGMA_DB, locationSigmaDb, MODEL_SIGMA_SOURCE } from "./sigma.ts";
export { WIFI_STEPS, wifiRateMbps, wifiSensitivityDbm } from "./wifi.ts";
