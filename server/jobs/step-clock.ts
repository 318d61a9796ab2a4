import type { Progress } from "../engine.ts";

export interface StepTime {
  step: string;
  seconds: number;
}

/** Below these a rate says nothing yet. */
const LEAST_SHARE = 0.05;
const LEAST_SECONDS = 0.5;

/**
 * Tells how long is left. The step at work is reckoned from its own count; later steps from how long they took last
 * time. What is not known is null: no guess is shown.
 */
export class StepClock {
  readonly #before: readonly StepTime[];
  readonly #times: StepTime[] = [];
  #stepAt = 0;
  #last: Progress | null = null;

  /** @param before  step times of the last finished run of the same kind on the same plan; empty when there is none */
  constructor(before: readonly StepTime[]) {
    this.#before = before;
  }

  /** @param nowMs  any steady clock, ms */
  progress(progress: Progress, nowMs: number): void {
    if (this.#last === null || progress.step !== this.#last.step || progress.stepIndex !== this.#last.stepIndex) {
      this.#close(nowMs);
      this.#stepAt = nowMs;
    }
    this.#last = progress;
  }

  #close(nowMs: number): void {
    if (this.#last !== null) this.#times.push({ step: this.#last.step, seconds: (nowMs - this.#stepAt) / 1000 });
  }

  /** Step times so far; ends the step at work. */
  times(nowMs: number): StepTime[] {
    this.#close(nowMs);
    this.#last = null;
    return [...this.#times];
  }

  /** Whole seconds, at least 0; null while it cannot be told. */
  secondsLeft(nowMs: number): number | null {
    const p = this.#last;
    if (p === null) return null;
    const spent = (nowMs - this.#stepAt) / 1000;
    const share = p.total > 0 ? p.done / p.total : 0;
    const at = this.#before.findIndex((b) => b.step === p.step);
    let left: number;
    if (share >= 1) left = 0;
    else if (share >= LEAST_SHARE && spent >= LEAST_SECONDS) left = (spent * (1 - share)) / share;
    else if (at >= 0) left = Math.max(0, this.#before[at]!.seconds - spent);
    else return null;
    const later = p.stepCount - 1 - p.stepIndex;
    if (later > 0) {
      if (at < 0 || this.#before.length - 1 - at < later) return null;
      for (const b of this.#before.slice(at + 1)) left += b.seconds;
    }
    return Math.ceil(left);
  }
}
