import { writeSync } from "node:fs";
import { openStore } from "../../server/storage/folder-store.ts";
import { createFakeEngine, fakeScene, ORIGIN } from "./fake-engine.ts";
import { samplePlan } from "./sample-plan.ts";

/**
 * Writes without end until it is killed: saves, file replacements, finished runs. Tells on standard output what has been
 * acknowledged, one line each, straight to the descriptor so that nothing waits in a buffer.
 */
const [dataDir, samplesDir] = process.argv.slice(2) as [string, string];
const say = (line: string) => writeSync(1, `${line}\n`);
const store = await openStore({ dataDir, samplesDir });
const plans = await store.plans();
const id = plans[0]?.id ?? (await store.createFromSample("meadow")).id;
const engine = createFakeEngine();
engine.pace = { steps: 1, counts: 0, countMs: 0 };
const result = await engine.rank({ plan: samplePlan() } as never, fakeScene(), {});
say("ready");
for (let i = 0; ; i++) {
  const { revision } = await store.plan(id);
  const saved = await store.savePlan(id, revision, samplePlan(`Save ${revision + 1}`));
  say(`saved ${saved}`);
  const run = await store.addRun(id, saved, { kind: "rank" });
  await store.markRunning(run.runId);
  await store.finishRun(run.runId, {
    state: "done",
    error: null,
    summary: "",
    stepSeconds: [],
    result: { kind: "rank", result, origin: ORIGIN },
  });
  say(`run ${run.runId}`);
  const upload = await store.upload(id, "ground.tif");
  const bytes = 20_000 + (i % 50) * 1000;
  await upload.write(new Uint8Array(bytes).fill(bytes % 251));
  const kept = await upload.keep(true);
  say(`file ${kept.revision}`);
}
