import { cancelled, HardstandError } from "../../src/errors/index.ts";

/**
 * Lets a few quick calls in at a time and a few more wait; whoever comes after is asked to come back later. Those that
 * leave while waiting give up their place.
 */
export class Gate {
  readonly #most: number;
  readonly #mostWaiting: number;
  #inside = 0;
  readonly #waiting: (() => void)[] = [];

  constructor(most: number, mostWaiting: number) {
    this.#most = most;
    this.#mostWaiting = mostWaiting;
  }

  async run<T>(signal: AbortSignal, work: () => Promise<T> | T): Promise<T> {
    await this.#enter(signal);
    try {
      return await work();
    } finally {
      this.#inside--;
      this.#waiting.shift()?.();
    }
  }

  async #enter(signal: AbortSignal): Promise<void> {
    if (signal.aborted) throw cancelled("the call");
    if (this.#inside >= this.#most) {
      if (this.#waiting.length >= this.#mostWaiting)
        throw new HardstandError("http.busy", "too many calls at once", { hint: "try again in a moment" });
      await new Promise<void>((resolve, reject) => {
        const go = () => {
          signal.removeEventListener("abort", leave);
          resolve();
        };
        const leave = () => {
          this.#waiting.splice(this.#waiting.indexOf(go), 1);
          reject(cancelled("the call"));
        };
        signal.addEventListener("abort", leave, { once: true });
        this.#waiting.push(go);
      });
    }
    this.#inside++;
  }
}
