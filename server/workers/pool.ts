import { setMaxListeners } from "node:events";
import { availableParallelism } from "node:os";
import { Piscina } from "piscina";
import { cancelled, HardstandError } from "../../src/errors/index.ts";
import { type Envelope, type Outcome, PROGRESS_UNIT, perform, STOP_SLOT } from "./perform.ts";
import { HANDLERS, type TaskName, type TaskRequest, type TaskResponse } from "./tasks.ts";
import { workerFile } from "./worker-file.ts";

export interface PoolOptions {
  /** Worker threads; the machine's cores when left out. 0: the same code on the calling thread (no cancel while a task works). */
  threads?: number;
  /** Another worker entry and its handlers, for tests. */
  filename?: string;
}

export interface RunOptions {
  signal?: AbortSignal;
  /** Share of the run that is done, 0…1; never falls. */
  onProgress?: (share: number) => void;
  /** Called with the index of each task that has answered. */
  onTask?: (index: number) => void;
}

export interface Pool {
  readonly threads: number;
  /** One task on one worker. Rejects with the task's own error, run.cancelled, or run.worker-died. */
  run<N extends TaskName>(name: N, payload: TaskRequest<N>, options?: RunOptions): Promise<TaskResponse<N>>;
  /**
   * Several tasks, one at a time per worker; answers in the order asked. The first error stops the rest of this run only.
   */
  runAll<N extends TaskName>(name: N, payloads: TaskRequest<N>[], options?: RunOptions): Promise<TaskResponse<N>[]>;
  /** Ends the threads; what still runs is cancelled. */
  close(): Promise<void>;
}

/** How often the shared progress counters are read. */
const PROGRESS_MS = 50;
/** A task that has not noticed the stop flag by then is ended with its thread. */
const GRACE_MS = 120;

/** A pool of worker threads; make one per process and close it at the end. */
export function createPool(options: PoolOptions = {}): Pool {
  const threads = options.threads ?? availableParallelism();
  const started = workerFile();
  const piscina =
    threads === 0
      ? null
      : new Piscina<Envelope, Outcome>({
          filename: options.filename ?? started.filename,
          execArgv: started.execArgv,
          minThreads: threads,
          maxThreads: threads,
          concurrentTasksPerWorker: 1,
        });
  // A worker that dies while idle is replaced; without a listener the event would end the process.
  piscina?.on("error", () => {});
  const closing = new AbortController();
  setMaxListeners(0, closing.signal);

  const runAll = async <N extends TaskName>(
    name: N,
    payloads: TaskRequest<N>[],
    { signal, onProgress, onTask }: RunOptions = {},
  ): Promise<TaskResponse<N>[]> => {
    if (signal?.aborted || closing.signal.aborted) throw cancelled("the run");
    const control = new Int32Array(new SharedArrayBuffer(4 * (payloads.length + 1)));
    const kill = new AbortController();
    setMaxListeners(0, kill.signal); // one listener per queued task
    let timer: NodeJS.Timeout | undefined;
    const stop = () => {
      Atomics.store(control, STOP_SLOT, 1);
      timer ??= setTimeout(() => kill.abort(), GRACE_MS);
    };
    signal?.addEventListener("abort", stop);
    closing.signal.addEventListener("abort", stop);
    const progress = watchProgress(control, payloads.length, onProgress);
    let first: HardstandError | null = null;
    const fail = (error: HardstandError) => {
      first ??= error;
      stop();
    };
    const one = async (payload: TaskRequest<N>, index: number): Promise<TaskResponse<N> | undefined> => {
      const envelope: Envelope = { name, payload, control, index };
      try {
        const outcome =
          piscina === null ? await perform(envelope, HANDLERS) : await piscina.run(envelope, { signal: kill.signal });
        if (outcome.ok) {
          onTask?.(index);
          return outcome.value as TaskResponse<N>;
        }
        fail(HardstandError.fromBody(outcome.error));
      } catch (thrown) {
        fail(whyLost(thrown, signal?.aborted === true || closing.signal.aborted, kill.signal.aborted));
      }
      return undefined;
    };
    try {
      const answers: (TaskResponse<N> | undefined)[] = [];
      if (piscina === null) for (const [index, payload] of payloads.entries()) answers.push(await one(payload, index));
      else answers.push(...(await Promise.all(payloads.map(one))));
      if (signal?.aborted || closing.signal.aborted) throw cancelled("the run");
      if (first !== null) throw first;
      progress.finish();
      return answers as TaskResponse<N>[];
    } finally {
      clearTimeout(timer);
      progress.end();
      signal?.removeEventListener("abort", stop);
      closing.signal.removeEventListener("abort", stop);
    }
  };

  return {
    threads,
    runAll,
    run: async (name, payload, runOptions) => (await runAll(name, [payload], runOptions))[0]!,
    close: async () => {
      closing.abort();
      await piscina?.destroy();
    },
  };
}

/** A task that came back without an outcome: its thread ended. */
function whyLost(thrown: unknown, unwanted: boolean, killed: boolean): HardstandError {
  if (unwanted || killed) return cancelled("the run");
  return new HardstandError("run.worker-died", "a worker thread ended in the middle of its work", {
    received: thrown instanceof Error ? thrown.message : String(thrown),
    hint: "run it again; if it happens again, use larger cells or a smaller area: memory may have run out",
    cause: thrown,
  });
}

function watchProgress(control: Int32Array, count: number, onProgress: ((share: number) => void) | undefined) {
  if (onProgress === undefined || count === 0) return { finish: () => onProgress?.(1), end: () => {} };
  let told = -1;
  const tell = (share: number) => {
    if (share <= told) return;
    told = share;
    onProgress(share);
  };
  const read = () => {
    let sum = 0;
    for (let i = 1; i <= count; i++) sum += Atomics.load(control, i);
    tell(sum / (count * PROGRESS_UNIT));
  };
  read();
  const timer = setInterval(read, PROGRESS_MS);
  return { finish: () => tell(1), end: () => clearInterval(timer) };
}
