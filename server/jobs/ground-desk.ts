import { cancelled } from "../../src/errors/index.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import type { Engine, Progress } from "../engine.ts";
import type { Store } from "../storage/types.ts";

export interface Ground {
  loaded: LoadedPlan;
  scene: Scene;
}

interface Entry {
  promise: Promise<Ground>;
  progress: Progress;
  listeners: Set<(progress: Progress) => void>;
}

const KEPT = 4;
const WAITING: Progress = { step: "Reading the plan", stepIndex: 0, stepCount: 1, done: 0, total: 1 };

/** Rejects when the signal does, without ending the work that others may be waiting for. */
export function orGone<T>(promise: Promise<T>, signal: AbortSignal | undefined, what: string): Promise<T> {
  if (signal === undefined) return promise;
  if (signal.aborted) return Promise.reject(cancelled(what));
  return new Promise((resolve, reject) => {
    const stop = () => reject(cancelled(what));
    signal.addEventListener("abort", stop, { once: true });
    promise.then(resolve, reject).finally(() => signal.removeEventListener("abort", stop));
  });
}

/**
 * Plans and their ground as asked for by revision. Whoever asks while the same is being built waits for that build; it
 * goes on when one of them leaves. The few used last are kept.
 */
export class GroundDesk {
  readonly #engine: Engine;
  readonly #store: Store;
  readonly #entries = new Map<string, Entry>();
  readonly #plans = new Map<string, Promise<LoadedPlan>>();

  constructor(engine: Engine, store: Store) {
    this.#engine = engine;
    this.#store = store;
  }

  async #key(planId: string, revision: number | undefined): Promise<{ key: string; revision: number }> {
    const known = revision ?? (await this.#store.plan(planId)).revision;
    return { key: `${planId}:${known}`, revision: known };
  }

  #entry(key: string, planId: string, revision: number): Entry {
    const known = this.#entries.get(key);
    if (known !== undefined) {
      this.#entries.delete(key);
      this.#entries.set(key, known);
      return known;
    }
    const entry: Entry = { promise: Promise.resolve() as never, progress: WAITING, listeners: new Set() };
    const onProgress = (progress: Progress) => {
      entry.progress = progress;
      for (const listener of entry.listeners) listener(progress);
    };
    entry.promise = this.#build(planId, revision, onProgress);
    entry.promise.catch(() => {
      // Not kept: the cause may be mended without a new revision (a file put beside the plan).
      if (this.#entries.get(key) === entry) this.#entries.delete(key);
    });
    this.#entries.set(key, entry);
    while (this.#entries.size > KEPT) this.#entries.delete(this.#entries.keys().next().value!);
    return entry;
  }

  async #build(planId: string, revision: number, onProgress: (progress: Progress) => void): Promise<Ground> {
    const loaded = await this.#load(planId, revision);
    return { loaded, scene: await this.#engine.scene(loaded, { onProgress }) };
  }

  /** The plan alone, without waiting for its ground. */
  async plan(planId: string, revision?: number): Promise<LoadedPlan> {
    return this.#load(planId, (await this.#key(planId, revision)).revision);
  }

  /** Loading reads every file the plan names, to know its hash: once for each revision is enough. */
  #load(planId: string, revision: number): Promise<LoadedPlan> {
    const key = `${planId}:${revision}`;
    let loaded = this.#plans.get(key);
    if (loaded === undefined) {
      loaded = this.#store.place(planId, revision).then((place) => this.#engine.load(place.folder, place.file));
      const made = loaded;
      loaded.catch(() => {
        if (this.#plans.get(key) === made) this.#plans.delete(key);
      });
    }
    this.#plans.delete(key);
    this.#plans.set(key, loaded);
    while (this.#plans.size > KEPT) this.#plans.delete(this.#plans.keys().next().value!);
    return loaded;
  }

  /** Plan and ground; waits for a build. */
  async get(
    planId: string,
    revision?: number,
    signal?: AbortSignal,
    onProgress?: (progress: Progress) => void,
  ): Promise<Ground> {
    const at = await this.#key(planId, revision);
    const entry = this.#entry(at.key, planId, at.revision);
    if (onProgress !== undefined) entry.listeners.add(onProgress);
    try {
      return await orGone(entry.promise, signal, "building the ground");
    } finally {
      if (onProgress !== undefined) entry.listeners.delete(onProgress);
    }
  }

  /**
   * Plan and ground if they are there or come within the given time; otherwise how far the build is.
   * @param patienceMs  how long to wait before answering with the progress
   */
  async peek(planId: string, patienceMs: number): Promise<Ground | Progress> {
    const at = await this.#key(planId, undefined);
    const entry = this.#entry(at.key, planId, at.revision);
    let timer: NodeJS.Timeout | undefined;
    const late = new Promise<null>((resolve) => {
      timer = setTimeout(() => resolve(null), patienceMs);
    });
    try {
      return (await Promise.race([entry.promise, late])) ?? entry.progress;
    } finally {
      clearTimeout(timer);
    }
  }

  /** Forgets a plan: its files have changed or it is gone. */
  forget(planId: string): void {
    for (const map of [this.#entries, this.#plans])
      for (const key of [...map.keys()]) if (key.startsWith(`${planId}:`)) map.delete(key);
  }
}
