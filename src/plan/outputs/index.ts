export * from "./common.ts";
export * from "./path.ts";
export * from "./rank.ts";
export * from "./sky.ts";
export * from "./terrain.ts";
