import { secondsLeft } from "../lib/format.ts";
import { cancelRun, result, running } from "../state/runs.ts";

/** Named step, bar, count, seconds left, Cancel. Old results stay under it. */
export function RunProgress() {
  const run = running.value;
  if (run === null) return null;
  const whole = run.stepCount > 0 ? (run.stepIndex + (run.total > 0 ? run.done / run.total : 0)) / run.stepCount : 0;
  const counted = run.total > 1 ? `${run.step}, ${run.done} of ${run.total}.` : `${run.step}.`;
  return (
    <section class="progress" aria-label="Run">
      <div class="row1">
        <b>{result.value === null ? "Working out the order" : "Working out the new order"}</b>
        <span class="dn mid">
          step {Math.min(run.stepCount, run.stepIndex + 1)} of {run.stepCount}
        </span>
      </div>
      <progress max="1" value={whole} aria-label="How far the run is" />
      <div class="row1">
        <span class="mid">
          {counted} {secondsLeft(run.secondsLeft)}
        </span>
        <button type="button" class="btn" onClick={() => void cancelRun()}>
          Cancel
        </button>
      </div>
    </section>
  );
}
