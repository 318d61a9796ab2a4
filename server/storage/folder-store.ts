import { mkdirSync } from "node:fs";
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import { Database } from "./database.ts";
import { type Disk, isPart, nodeDisk, writeError, writeWhole } from "./disk.ts";
import { KeyedLock } from "./keyed-lock.ts";
import { Layout, notFound } from "./layout.ts";
import { refuseNetworkFolder } from "./network-folder.ts";
import { Plans } from "./plans.ts";
import { Results } from "./results.ts";
import { Runs } from "./runs.ts";
import { listSamples, openSample } from "./samples.ts";
import type { Store } from "./types.ts";
import { startUpload } from "./uploads.ts";

export interface StoreOptions {
  dataDir: string;
  samplesDir: string;
  /** Replaced in tests by one whose n-th operation is refused. */
  disk?: Disk;
  beforeWrite?: () => void;
}

/**
 * Opens the data folder (made when it is not there), takes it for this process and puts right what a killed process
 * left behind: runs that were at work are closed as interrupted, passing files are removed.
 * @throws storage.network-folder, storage.locked, storage.damaged, file.write-failed
 */
export async function openStore(options: StoreOptions): Promise<Store> {
  const layout = new Layout(options.dataDir);
  const disk = options.disk ?? nodeDisk;
  try {
    mkdirSync(layout.root, { recursive: true, mode: 0o700 });
  } catch (thrown) {
    throw writeError(thrown, layout.root);
  }
  refuseNetworkFolder(layout.root);
  const db = new Database(layout.root, options.beforeWrite);
  try {
    for (const folder of [layout.plans, layout.runs, layout.passing, layout.discarded]) await disk.mkdir(folder);
    for (const left of await readdir(layout.passing)) await disk.remove(join(layout.passing, left));
    const lock = new KeyedLock();
    const plans = new Plans(db, disk, layout, lock);
    const results = new Results(disk, layout);
    const runs = new Runs(db, layout, results);
    await runs.recover();
    await plans.recover();
    for (const plan of plans.list())
      for (const name of await readdir(layout.plan(plan.id)).catch(() => []))
        if (isPart(name)) await disk.remove(join(layout.plan(plan.id), name));
    return assemble({ db, disk, layout, lock, plans, results, runs, samplesDir: options.samplesDir });
  } catch (thrown) {
    db.close();
    throw writeError(thrown, layout.root);
  }
}

interface Parts {
  db: Database;
  disk: Disk;
  layout: Layout;
  lock: KeyedLock;
  plans: Plans;
  results: Results;
  runs: Runs;
  samplesDir: string;
}

function assemble({ db, disk, layout, lock, plans, results, runs, samplesDir }: Parts): Store {
  const withResult = (runId: string): void => {
    const run = runs.get(runId);
    if (run.hasResult) return;
    if (run.state === "queued" || run.state === "running")
      throw new HardstandError("http.not-ready", "the run has no result yet", {
        where: "run",
        received: run.state,
        hint: "follow its events and ask again when it is done",
      });
    throw notFound("result", runId);
  };
  return {
    async health() {
      const path = join(layout.root, "health.txt");
      const beat = String(Date.now());
      await writeWhole(disk, path, beat);
      const back = await readFile(path, "utf8");
      db.write((run) => run("UPDATE health SET beat = ? WHERE id = 1", Number(beat)));
      const row = db.one<{ beat: number }>("SELECT beat FROM health WHERE id = 1");
      if (back !== beat || row?.beat !== Number(beat))
        throw new HardstandError("storage.damaged", "the data folder does not give back what was written", {
          where: layout.root,
        });
    },
    samples: () => listSamples(samplesDir),
    plans: async () => plans.list(),
    createPlan: (plan) => plans.create(plan),
    async createFromSample(sampleId) {
      const sample = await openSample(disk, samplesDir, sampleId);
      return plans.create(sample.plan, sample.fill);
    },
    plan: (id) => plans.get(id),
    savePlan: (id, expected, plan) => plans.save(id, expected, plan),
    deletePlan: (id) => plans.remove(id),
    revisions: async (id) => plans.revisions(id),
    revision: (id, revision) => plans.revision(id, revision),
    place: async (id, revision) => plans.place(id, revision),
    files: (id) => plans.files(id),
    upload: (id, name) => startUpload({ disk, layout, lock, plans }, id, name),
    addRun: async (planId, planRevision, args) => {
      plans.place(planId, planRevision);
      return runs.add(planId, planRevision, args);
    },
    run: async (runId) => runs.get(runId),
    async runs(planId) {
      await plans.get(planId);
      return runs.ofPlan(planId);
    },
    queued: async () => runs.queued(),
    markRunning: async (runId) => runs.markRunning(runId),
    finishRun: (runId, finish) => runs.finish(runId, finish),
    latestRank: async (planId, revision) => runs.latestRank(planId, revision),
    stepTimes: async (planId, kind) => runs.stepTimes(planId, kind),
    async result(runId) {
      withResult(runId);
      return results.load(runId);
    },
    async answer(runId) {
      withResult(runId);
      return results.answer(runId);
    },
    close: async () => db.close(),
  };
}
