import { randomBytes } from "node:crypto";

export interface FeedEvent {
  id: string;
  name: "progress" | "end";
  data: string;
}

/** Ids begin anew with every start of the service; a reader from before is sent where things stand instead. */
const EPOCH = randomBytes(4).toString("hex");
const BACKLOG = 64;

/** Events of one run, kept for a while so that a reader that lost the line can go on where it was. */
export class Feed {
  readonly #events: FeedEvent[] = [];
  readonly #readers = new Set<(event: FeedEvent) => void>();
  #serial = 0;

  push(name: FeedEvent["name"], value: unknown): void {
    const event: FeedEvent = { id: `${EPOCH}-${++this.#serial}`, name, data: JSON.stringify(value) };
    this.#events.push(event);
    if (this.#events.length > BACKLOG) this.#events.shift();
    for (const reader of [...this.#readers]) reader(event);
  }

  get ended(): boolean {
    return this.#events.at(-1)?.name === "end";
  }

  get readers(): number {
    return this.#readers.size;
  }

  /**
   * What a reader has missed. Every event tells the whole state, so a reader that knows nothing needs only the last.
   * @param lastId  what it saw last, null when nothing
   */
  missed(lastId: string | null): FeedEvent[] {
    const at = lastId === null ? -1 : this.#events.findIndex((e) => e.id === lastId);
    return at >= 0 ? this.#events.slice(at + 1) : this.#events.slice(-1);
  }

  follow(reader: (event: FeedEvent) => void): () => void {
    this.#readers.add(reader);
    return () => this.#readers.delete(reader);
  }
}
