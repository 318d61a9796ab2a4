import {
  countSweepRays,
  countVisibleRays,
  createPointOut,
  createSweepOut,
  NOT_EVALUATED,
  PATH_NUMBERS,
  type PointOut,
  type ProfileLink,
  type SweepJob,
  type SweepOut,
  type SweepScene,
  type SweepTerrain,
  type SweepWanted,
  type VisibleJob,
} from "../../src/coverage/index.ts";
import type { Pool, RunOptions } from "./pool.ts";

export type PointJob = Omit<SweepJob, "canopy">;

export interface RunSweepsOptions extends RunOptions {
  /** Arrays wanted beside the loss. */
  wanted?: SweepWanted & { route?: boolean };
  /** Called as each job is complete. */
  onSwept?: (job: number, out: PointOut) => void;
}

/** Parts per thread that a run is cut into, so that the threads finish together. */
const PARTS_PER_THREAD = 8;

function parts(total: number, wanted: number): [from: number, to: number][] {
  const count = Math.max(1, Math.min(wanted, total));
  return Array.from({ length: count }, (_, i) => [
    Math.floor((total * i) / count),
    Math.floor((total * (i + 1)) / count),
  ]);
}

/**
 * Sweeps from every job's point on the pool's threads. Results sit in SharedArrayBuffers and are the same bytes whatever
 * the number of threads.
 * @returns one PointOut per job, in order
 * Throws model.input, run.cancelled, run.worker-died.
 */
export async function runSweeps(
  pool: Pool,
  scene: SweepScene,
  jobs: PointJob[],
  { wanted = {}, onSwept, ...options }: RunSweepsOptions = {},
): Promise<PointOut[]> {
  const cells = scene.cols * scene.rows;
  const terrain = terrainOf(scene);
  const perJob = Math.ceil((PARTS_PER_THREAD * Math.max(pool.threads, 1)) / Math.max(jobs.length, 1));
  const outs: PointOut[] = [];
  const tasks = jobs.flatMap((job) => {
    const out = createPointOut(cells, wanted, true);
    outs.push(out);
    const rays = countSweepRays(terrain, job);
    return parts(rays, perJob).map(([rayFrom, rayTo]) => ({ scene, job, out, rayFrom, rayTo }));
  });
  const left = jobs.map((_, i) => tasks.filter((task) => task.out === outs[i]).length);
  await pool.runAll("sweep-point", tasks, {
    ...options,
    onTask: (index) => {
      const job = outs.indexOf(tasks[index]!.out);
      left[job]!--;
      if (left[job] === 0) onSwept?.(job, outs[job]!);
    },
  });
  return outs;
}

/** Visible or not around an eye, on the pool's threads; see sweepVisible for the values. */
export async function runVisible(
  pool: Pool,
  terrain: SweepTerrain,
  job: VisibleJob,
  options: RunOptions = {},
): Promise<Uint8Array> {
  const out = new Uint8Array(new SharedArrayBuffer(terrain.cols * terrain.rows)).fill(NOT_EVALUATED);
  const rays = countVisibleRays(terrain, job);
  const slices = parts(rays, PARTS_PER_THREAD * Math.max(pool.threads, 1));
  await pool.runAll(
    "sweep-visible",
    slices.map(([rayFrom, rayTo]) => ({ terrain, job, out, rayFrom, rayTo })),
    options,
  );
  return out;
}

/**
 * Loss over many single paths, on the pool's threads.
 * @param paths PATH_NUMBERS numbers per path; copied to shared memory unless it sits there
 */
export async function runProfiles(
  pool: Pool,
  terrain: SweepTerrain,
  link: ProfileLink,
  paths: Float64Array,
  { wanted = {}, ...options }: RunOptions & { wanted?: SweepWanted } = {},
): Promise<SweepOut> {
  const count = Math.floor(paths.length / PATH_NUMBERS);
  const out = createSweepOut(count, wanted, true);
  let shared = paths;
  if (!(paths.buffer instanceof SharedArrayBuffer)) {
    shared = new Float64Array(new SharedArrayBuffer(paths.byteLength));
    shared.set(paths);
  }
  const slices = parts(count, PARTS_PER_THREAD * Math.max(pool.threads, 1));
  await pool.runAll(
    "profile-batch",
    slices.map(([from, to]) => ({ terrain, link, paths: shared, out, from, to })),
    options,
  );
  return out;
}

function terrainOf(scene: SweepScene): SweepTerrain {
  const { cols, rows, cellM, groundM, surfaceM } = scene;
  return { cols, rows, cellM, groundM, obstacleM: surfaceM };
}
