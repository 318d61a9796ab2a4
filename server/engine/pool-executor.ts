import type { RankExecutor, ScreenValues } from "../../src/placement/index.ts";
import type { Pool } from "../workers/index.ts";
import type { PlanContext } from "../workers/plan-context.ts";

/** Places evaluated per task: few, so that threads stay level and progress is seen. */
const PLACES_PER_TASK = 4;

function sharedFloats(n: number): Float32Array {
  return new Float32Array(new SharedArrayBuffer(n * 4));
}

/** Does a ranking's heavy work on a pool of threads. */
export function poolExecutor(pool: Pool, context: PlanContext): RankExecutor {
  let shared: Uint32Array | null = null;
  const share = (cells: Uint32Array): Uint32Array => {
    if (shared?.length === cells.length && shared.every((c, i) => c === cells[i])) return shared;
    shared = new Uint32Array(new SharedArrayBuffer(cells.byteLength));
    shared.set(cells);
    return shared;
  };
  const options = (onDone: (done: number) => void, signal?: AbortSignal, step = 1) => {
    let done = 0;
    return {
      ...(signal ? { signal } : {}),
      onTask: () => {
        done += step;
        onDone(done);
      },
    };
  };
  return {
    async sweeps(jobs, cells, onDone, signal) {
      const own = share(cells);
      const out: ScreenValues[] = jobs.map(() => ({
        lossDb: sharedFloats(own.length),
        elevationDeg: sharedFloats(own.length),
      }));
      await pool.runAll(
        "screen-sweep",
        jobs.map((job, i) => ({ context, cells: own, job, out: out[i]! })),
        options(onDone, signal),
      );
      return out;
    },
    async sky(satelliteDegs, cells, signal) {
      const own = share(cells);
      return pool.runAll(
        "screen-sky",
        satelliteDegs.map((satelliteDeg) => ({ context, cells: own, satelliteDeg })),
        signal ? { signal } : {},
      );
    },
    async evaluate(places, onDone, signal) {
      const chunks = [];
      const size = Math.max(1, Math.min(PLACES_PER_TASK, Math.ceil(places.length / pool.threads)));
      for (let i = 0; i < places.length; i += size) chunks.push({ context, places: places.slice(i, i + size) });
      const found = await pool.runAll(
        "evaluate-places",
        chunks,
        options((d) => onDone(Math.min(d, places.length)), signal, size),
      );
      return found.flat();
    },
    async views(places, when, onDone, signal) {
      return pool.runAll(
        "spot-views",
        places.map((place) => ({ context, place, when })),
        options(onDone, signal),
      );
    },
    async solveMip(job, signal) {
      return pool.run("solve-mip", job, signal ? { signal } : {});
    },
  };
}
