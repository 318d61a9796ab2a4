import { cancelled, type ErrorBody, HardstandError } from "../../src/errors/index.ts";
import type { TaskContext } from "./tasks.ts";

/** One task as it crosses to a worker. `control` is shared: slot 0 the stop flag, slot 1 + index the task's progress. */
export interface Envelope {
  name: string;
  payload: unknown;
  control: Int32Array;
  index: number;
}

/** What comes back. Errors travel as their body: between threads an error would lose its class, code and details. */
export type Outcome = { ok: true; value: unknown } | { ok: false; error: ErrorBody };

/** Progress is kept as whole numbers of 1 in this. */
export const PROGRESS_UNIT = 1_000_000;
export const STOP_SLOT = 0;

type AnyHandler = (payload: never, context: TaskContext) => unknown;

/** Runs one task with the handlers given; never throws. */
export async function perform(envelope: Envelope, handlers: Record<string, AnyHandler>): Promise<Outcome> {
  const { name, payload, control, index } = envelope;
  const context: TaskContext = {
    shouldStop: () => Atomics.load(control, STOP_SLOT) !== 0,
    onProgress: (share) => {
      Atomics.store(control, 1 + index, Math.round(share * PROGRESS_UNIT));
    },
  };
  try {
    if (context.shouldStop()) throw cancelled("the run");
    const handler = handlers[name];
    if (handler === undefined) throw new HardstandError("internal", `no worker task is named ${name}`);
    const value = await handler(payload as never, context);
    context.onProgress(1);
    return { ok: true, value };
  } catch (thrown) {
    return { ok: false, error: HardstandError.from(thrown).body };
  }
}
