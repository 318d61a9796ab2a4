import { type Envelope, type Outcome, perform } from "../../server/workers/perform.ts";
import { HANDLERS } from "../../server/workers/tasks.ts";

/** The worker's entry with tasks that misbehave added: one ends its thread, one never looks at the stop flag. */
export default function work(envelope: Envelope): Promise<Outcome> {
  return perform(envelope, {
    ...HANDLERS,
    die: () => process.exit(7),
    deaf: () => {
      for (;;) Math.random();
    },
    string: () => {
      throw "only a string";
    },
  });
}
