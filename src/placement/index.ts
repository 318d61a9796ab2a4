export { cautionsFor } from "./cautions.ts";
export { type Evaluation, evaluate, pathSettings, sampleEnd, unitEnd } from "./evaluate.ts";
export type { Progress, RankExecutor, RunHooks, ScreenSweep, ScreenValues, SkyValues } from "./executor.ts";
export { localExecutor } from "./local-executor.ts";
export { type PathQuestion, pathAnswer } from "./path-answer.ts";
export { type Ranking, type RankOptions, rank, type SuitabilitySurface } from "./rank.ts";
export { makeScenario, type Scenario } from "./scenario.ts";
export { type ExaminedSpot, examineSpot, spotAnswer } from "./spot-detail.ts";
export { type SkyWhen, whenOf } from "./when.ts";
