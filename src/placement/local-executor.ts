import { cancelled } from "../errors/index.ts";
import { clearanceMap } from "../satellite/index.ts";
import { evaluate } from "./evaluate.ts";
import type { RankExecutor } from "./executor.ts";
import type { Scenario } from "./scenario.ts";
import { screenSweep, sweepWorkspace } from "./screen-sweep.ts";
import { satelliteViews } from "./spot-detail.ts";

const tick = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** Does the heavy work in the calling thread, giving way between pieces so that progress is shown and a stop is heard. */
export function localExecutor(s: Scenario): RankExecutor {
  const stop = (signal?: AbortSignal): void => {
    if (signal?.aborted) throw cancelled("the run");
  };
  return {
    async sweeps(jobs, cells, onDone, signal) {
      const work = sweepWorkspace(s.scene, cells);
      const out = [];
      for (const job of jobs) {
        stop(signal);
        out.push(screenSweep(s.scene, job, cells, s.season, s.k, work));
        onDone(out.length);
        await tick();
      }
      return out;
    },
    async sky(satelliteDegs, cells, signal) {
      const mask = new Uint8Array(s.scene.grid.cols * s.scene.grid.rows);
      for (const c of cells) mask[c] = 1;
      const out = [];
      for (const satelliteDeg of satelliteDegs) {
        stop(signal);
        const map = clearanceMap(s.scene, s.scene.frame.origin, satelliteDeg, s.dish!, { mask });
        out.push({
          clearanceDeg: Float32Array.from(cells, (c) => map.clearanceDeg[c]!),
          treeClearanceDeg: map.treeClearanceDeg ? Float32Array.from(cells, (c) => map.treeClearanceDeg![c]!) : null,
        });
        await tick();
      }
      return out;
    },
    async evaluate(places, onDone, signal) {
      const out = [];
      for (const place of places) {
        stop(signal);
        out.push(evaluate(s, place));
        onDone(out.length);
        if (out.length % 8 === 0) await tick();
      }
      return out;
    },
    async views(places, when, onDone, signal) {
      const out = [];
      for (const place of places) {
        stop(signal);
        out.push(satelliteViews(s, place, when));
        onDone(out.length);
        await tick();
      }
      return out;
    },
  };
}
