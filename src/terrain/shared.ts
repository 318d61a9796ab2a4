import { cancelled } from "../errors/index.ts";

/** Heights that threads share; filled with void. */
export function sharedHeights(count: number): Float32Array {
  return new Float32Array(new SharedArrayBuffer(count * 4)).fill(Number.NaN);
}

/** Stop flag and progress of a long piece of work. */
export interface WorkHooks {
  signal?: AbortSignal | undefined;
  /** Share done of this step, 0 to 1. */
  onProgress?: ((share: number) => void) | undefined;
}

export function stopIfAsked(hooks: WorkHooks, what: string): void {
  if (hooks.signal?.aborted) throw cancelled(what);
}
