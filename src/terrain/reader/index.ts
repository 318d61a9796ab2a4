/** Reads rasters from byte sources: heads, georeference, decoding. Opening files is the caller's. */
export { type ByteSource, checkRange, memorySource } from "./byte-source.ts";
export type { CrsInfo } from "./crs.ts";
export type { Inflate } from "./decoders.ts";
export type { Placement } from "./georeference.ts";
export { type HeadOptions, HIGHEST_M, LOWEST_M, type RasterHead, readHead } from "./head.ts";
export { isHgtName } from "./hgt.ts";
export { type BandSink, decodeImage, decodeMask } from "./image-rows.ts";
export { type ContentKind, type KindVerdict, kindOf } from "./kind.ts";
export { jumpLimitM, type RasterStats, StatsGatherer } from "./stats.ts";
export type { HeightUnit, Vertical, Warning } from "./vertical.ts";
