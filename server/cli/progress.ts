import type { Hooks, Progress } from "../engine.ts";
import type { Io } from "./arguments.ts";

/** Progress on standard error: one line that rewrites itself on a terminal, one line a step elsewhere. */
export function progressHooks(io: Io): Hooks & { finish(): void } {
  const live = process.stderr.isTTY === true;
  let last = "";
  let lastAt = 0;
  return {
    signal: io.signal,
    onProgress(p: Progress): void {
      const now = Date.now();
      if (live) {
        if (now - lastAt < 80 && p.done < p.total) return;
        lastAt = now;
        process.stderr.write(`\r\x1b[K${p.step}${p.total > 1 ? ` ${p.done} of ${p.total}` : ""}`);
      } else if (p.step !== last) io.note(`${p.step}\n`);
      last = p.step;
    },
    finish(): void {
      if (live) process.stderr.write("\r\x1b[K");
    },
  };
}
