import type { Engine } from "../engine.ts";
import type { Gate } from "../jobs/gate.ts";
import type { GroundDesk } from "../jobs/ground-desk.ts";
import type { RunQueue } from "../jobs/queue.ts";
import type { Store } from "../storage/types.ts";
import type { Gatekeeper } from "./auth.ts";
import type { Log } from "./log.ts";
import type { ResultShelf } from "./result-shelf.ts";

/** What routes work with. */
export interface Context {
  engine: Engine;
  store: Store;
  desk: GroundDesk;
  queue: RunQueue;
  gate: Gate;
  shelf: ResultShelf;
  gatekeeper: Gatekeeper;
  log: Log;
  version: string;
  maxUploadBytes: number;
}
