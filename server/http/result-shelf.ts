import type { Store, StoredResult } from "../storage/types.ts";

const KEPT = 6;

/** The results looked at last, so that a map's tiles do not read the arrays from disk each. */
export class ResultShelf {
  readonly #store: Store;
  readonly #kept = new Map<string, Promise<StoredResult>>();
  constructor(store: Store) {
    this.#store = store;
  }

  get(runId: string): Promise<StoredResult> {
    let result = this.#kept.get(runId);
    if (result === undefined) {
      result = this.#store.result(runId);
      result.catch(() => this.#kept.delete(runId));
    }
    this.#kept.delete(runId);
    this.#kept.set(runId, result);
    while (this.#kept.size > KEPT) this.#kept.delete(this.#kept.keys().next().value!);
    return result;
  }

  forget(): void {
    this.#kept.clear();
  }
}
