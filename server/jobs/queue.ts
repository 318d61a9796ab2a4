import { cancelled, HardstandError } from "../../src/errors/index.ts";
import type { RunStatus, StartRunBody } from "../../src/plan/http.ts";
import type { CoverArgs, CoverResult, Engine, Progress, RankResult } from "../engine.ts";
import type { Log } from "../http/log.ts";
import type { Finish, ResultToStore, Store, StoredRun } from "../storage/types.ts";
import { Feed } from "./feed.ts";
import type { GroundDesk } from "./ground-desk.ts";
import { StepClock } from "./step-clock.ts";
import { coverSummary, rankSummary } from "./summary.ts";

export interface QueueOptions {
  store: Store;
  engine: Engine;
  desk: GroundDesk;
  log: Log;
  /** Runs at work at once; a run uses every core by itself. */
  atOnce?: number;
  mostQueued?: number;
}

interface Live {
  run: StoredRun;
  state: RunStatus["state"];
  progress: Progress;
  clock: StepClock;
  stop: AbortController;
  partial: { result: RankResult } | null;
  origin: { lng: number; lat: number } | null;
  error: StoredRun["error"];
  hasResult: boolean;
  feed: Feed;
  pushedAt: number;
  pushTimer: NodeJS.Timeout | null;
  /** Set once the end is being stored: from then on the run can only become what is being stored. */
  ending: Promise<void> | null;
}

/** The computing side knows no revisions: which one it was is put into the provenance here. */
function stamped<T extends RankResult | CoverResult>(result: T, planRevision: number): T {
  const { answer } = result;
  return { ...result, answer: { ...answer, provenance: { ...answer.provenance, planRevision } } };
}

const NOTHING: Progress = { step: "", stepIndex: 0, stepCount: 0, done: 0, total: 0 };
/** Progress events are at most this frequent; a new step is told at once. */
const PUSH_EVERY_MS = 100;
/** Ended runs whose events can still be resumed. */
const REMEMBERED = 50;

/**
 * Runs as jobs. A run is queued in the store before it is answered for, taken up in the order asked, and ends in exactly
 * one of done, cancelled, failed. A cancel holds at once for everybody who looks, whether or not the work has let go yet;
 * the next run starts when it has.
 */
export class RunQueue {
  readonly #options: Required<QueueOptions>;
  readonly #live = new Map<string, Live>();
  readonly #waiting: string[] = [];
  readonly #working = new Set<Promise<void>>();
  #closed = false;

  constructor(options: QueueOptions) {
    this.#options = { atOnce: 1, mostQueued: 20, ...options };
  }

  /** Takes up what was queued when the service last went away. */
  async start(): Promise<void> {
    for (const run of await this.#options.store.queued()) this.#admit(run);
    this.#next();
  }

  #admit(run: StoredRun): Live {
    const live: Live = {
      run,
      state: "queued",
      progress: NOTHING,
      clock: new StepClock([]),
      stop: new AbortController(),
      partial: null,
      origin: null,
      error: null,
      hasResult: false,
      feed: new Feed(),
      pushedAt: 0,
      pushTimer: null,
      ending: null,
    };
    this.#live.set(run.runId, live);
    this.#waiting.push(run.runId);
    live.feed.push("progress", this.#statusOf(live));
    return live;
  }

  get queuedCount(): number {
    return this.#waiting.length;
  }

  async add(planId: string, planRevision: number, args: StartRunBody): Promise<string> {
    if (this.#waiting.length >= this.#options.mostQueued)
      throw new HardstandError("http.busy", "too many runs are waiting", {
        received: this.#waiting.length,
        hint: "cancel one, or try again when one has ended",
      });
    const run = await this.#options.store.addRun(planId, planRevision, args);
    this.#admit(run);
    this.#next();
    return run.runId;
  }

  async status(runId: string): Promise<RunStatus> {
    const live = this.#live.get(runId);
    if (live !== undefined) return this.#statusOf(live);
    const run = await this.#options.store.run(runId);
    return {
      ...NOTHING,
      runId,
      kind: run.kind,
      state: run.state,
      secondsLeft: null,
      error: run.error,
      planId: run.planId,
      planRevision: run.planRevision,
      hasResult: run.hasResult,
    };
  }

  /** Events of a run that has been at work since the service started; null for older ones. */
  feed(runId: string): Feed | null {
    return this.#live.get(runId)?.feed ?? null;
  }

  #statusOf(live: Live): RunStatus {
    return {
      runId: live.run.runId,
      kind: live.run.kind,
      state: live.state,
      ...live.progress,
      secondsLeft: live.state === "running" ? live.clock.secondsLeft(performance.now()) : null,
      error: live.error,
      planId: live.run.planId,
      planRevision: live.run.planRevision,
      hasResult: live.hasResult,
    };
  }

  /** Cancels; a run that has ended stays as it is. Answers with the state that now holds. */
  async cancel(runId: string): Promise<RunStatus> {
    const live = this.#live.get(runId);
    if (live?.ending) await live.ending;
    if (live === undefined || (live.state !== "queued" && live.state !== "running")) return this.status(runId);
    const wasQueued = live.state === "queued";
    live.state = "cancelled";
    live.stop.abort();
    if (wasQueued) this.#waiting.splice(this.#waiting.indexOf(runId), 1);
    const result: ResultToStore | null =
      live.partial !== null && live.origin !== null
        ? { kind: "rank", result: live.partial.result, origin: live.origin }
        : null;
    await this.#end(live, {
      state: "cancelled",
      error: null,
      summary: result === null ? "cancelled" : "cancelled; what was complete is kept",
      result,
    });
    return this.#statusOf(live);
  }

  /** Cancels whatever belongs to a plan that goes away. */
  async cancelPlan(planId: string): Promise<void> {
    for (const live of [...this.#live.values()])
      if (live.run.planId === planId) {
        await this.cancel(live.run.runId);
        this.#live.delete(live.run.runId);
      }
  }

  #next(): void {
    while (!this.#closed && this.#working.size < this.#options.atOnce) {
      const runId = this.#waiting.shift();
      if (runId === undefined) return;
      const live = this.#live.get(runId);
      if (live === undefined) continue;
      live.state = "running";
      const work = this.#work(live).finally(() => {
        this.#working.delete(work);
        this.#next();
      });
      this.#working.add(work);
    }
  }

  async #work(live: Live): Promise<void> {
    const { store, log } = this.#options;
    const { runId, planId, kind } = live.run;
    try {
      await store.markRunning(runId);
      live.clock = new StepClock((await store.stepTimes(planId, kind)) ?? []);
      this.#push(live, true);
      const done = await this.#compute(live);
      if (live.state !== "running") return;
      await this.#end(live, { state: "done", error: null, ...done });
    } catch (thrown) {
      if (live.state !== "running") return;
      const error = HardstandError.from(thrown);
      if (error.code === "internal")
        log({
          level: "error",
          event: "run-fault",
          runId,
          message: String((error.cause as Error)?.stack ?? error.stack),
        });
      await this.#end(live, { state: "failed", error: error.body, summary: error.message, result: null });
    }
  }

  async #compute(live: Live): Promise<{ summary: string; result: ResultToStore }> {
    const { engine, desk } = this.#options;
    const { planId, planRevision, args } = live.run;
    const onProgress = (progress: Progress) => this.#progress(live, progress);
    const hooks = { signal: live.stop.signal, onProgress };
    const { loaded, scene } = await desk.get(planId, planRevision, live.stop.signal, onProgress);
    const { origin } = scene.frame;
    live.origin = origin;
    if (args.kind === "rank") {
      const onPartial = (partial: RankResult) => {
        live.partial = { result: stamped(partial, planRevision) };
      };
      const result = stamped(await engine.rank(loaded, scene, { ...hooks, onPartial }), planRevision);
      return { summary: rankSummary(result.answer), result: { kind: "rank", result, origin } };
    }
    const { kind: _, ...given } = args;
    const cover: CoverArgs = { lng: given.lng, lat: given.lat, service: given.service, what: given.what };
    if (given.need !== undefined) cover.need = given.need;
    if (given.radiusM !== undefined) cover.radiusM = given.radiusM;
    const result = stamped(await engine.cover(loaded, scene, cover, hooks), planRevision);
    return { summary: coverSummary(result.answer), result: { kind: "cover", result, origin } };
  }

  #progress(live: Live, progress: Progress): void {
    if (live.state !== "running") return;
    const newStep = progress.step !== live.progress.step || progress.stepIndex !== live.progress.stepIndex;
    const { step, stepIndex, stepCount, done, total } = progress;
    live.progress = { step, stepIndex, stepCount, done, total };
    live.clock.progress(live.progress, performance.now());
    this.#push(live, newStep);
  }

  #push(live: Live, atOnce: boolean): void {
    const wait = live.pushedAt + PUSH_EVERY_MS - performance.now();
    if (!atOnce && wait > 0) {
      live.pushTimer ??= setTimeout(() => {
        live.pushTimer = null;
        if (live.state === "running") this.#push(live, true);
      }, wait);
      return;
    }
    if (live.pushTimer !== null) clearTimeout(live.pushTimer);
    live.pushTimer = null;
    live.pushedAt = performance.now();
    live.feed.push("progress", this.#statusOf(live));
  }

  /** Stores the end, then tells it. When it cannot be stored the run is told as failed: never done without a result. */
  #end(live: Live, end: Omit<Finish, "stepSeconds">): Promise<void> {
    live.ending ??= this.#storeEnd(live, end);
    return live.ending;
  }

  async #storeEnd(live: Live, end: Omit<Finish, "stepSeconds">): Promise<void> {
    const { store, log } = this.#options;
    const { runId } = live.run;
    const finish: Finish = { ...end, stepSeconds: live.clock.times(performance.now()) };
    try {
      await store.finishRun(runId, finish);
    } catch (thrown) {
      const error = HardstandError.from(thrown);
      log({ level: "error", event: "run-not-stored", runId, code: error.code, message: error.message });
      finish.state = end.state === "cancelled" ? "cancelled" : "failed";
      finish.error = error.body;
      finish.result = null;
      // Should this not be stored either, the next start closes the run as interrupted.
      await store.finishRun(runId, { ...finish, summary: error.message }).catch(() => {});
    }
    live.state = finish.state;
    live.error = finish.error;
    live.hasResult = finish.result !== null;
    live.partial = null;
    if (live.pushTimer !== null) clearTimeout(live.pushTimer);
    log({ level: "info", event: "run-ended", runId, state: finish.state, kind: live.run.kind });
    live.feed.push("end", this.#statusOf(live));
    this.#forgetOld();
  }

  #forgetOld(): void {
    let ended = 0;
    for (const [runId, live] of [...this.#live].reverse())
      if (live.feed.ended && ++ended > REMEMBERED && live.feed.readers === 0) this.#live.delete(runId);
  }

  /** Stops work and closes what was running as interrupted; queued runs stay queued for the next start. */
  async close(): Promise<void> {
    this.#closed = true;
    this.#waiting.length = 0;
    const error = new HardstandError("run.interrupted", "the service was stopped during the run", {
      hint: "start it again; nothing of it was kept",
    });
    for (const live of this.#live.values())
      if (live.state === "running") {
        live.stop.abort(cancelled("the run"));
        await this.#end(live, { state: "failed", error: error.body, summary: error.message, result: null });
      }
  }
}
