export { createPool, type Pool, type PoolOptions, type RunOptions } from "./pool.ts";
export { type PointJob, type RunSweepsOptions, runProfiles, runSweeps, runVisible } from "./sweeps.ts";
export type { TaskContext, TaskName, TaskRequest, TaskResponse } from "./tasks.ts";
