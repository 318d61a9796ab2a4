import { type Envelope, type Outcome, perform } from "./perform.ts";
import { HANDLERS } from "./tasks.ts";

/** Entry of a worker thread: one task in, its outcome out. */
export default function work(envelope: Envelope): Promise<Outcome> {
  return perform(envelope, HANDLERS);
}
