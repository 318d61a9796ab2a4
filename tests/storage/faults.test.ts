import { cpSync, existsSync, mkdirSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { isPart, nodeDisk, writeWhole } from "../../server/storage/disk.ts";
import { openStore } from "../../server/storage/folder-store.ts";
import type { Store } from "../../server/storage/types.ts";
import { HardstandError } from "../../src/errors/index.ts";
import { type FailingDisk, failingDisk } from "../support/failing-disk.ts";
import { createFakeEngine, fakeScene, fakeSurface, ORIGIN } from "../support/fake-engine.ts";
import { samplesFolder, temporaryFolder } from "../support/folders.ts";
import { samplePlan } from "../support/sample-plan.ts";

const samplesDir = (): string => samplesFolder();

interface Seed {
  dataDir: string;
  planId: string;
  runId: string;
}

/** A folder with one plan, one file beside it and one run at work. */
async function seed(samples: string): Promise<Seed> {
  const dataDir = join(temporaryFolder(), "data");
  const store = await openStore({ dataDir, samplesDir: samples });
  const { id } = await store.createFromSample("meadow");
  const run = await store.addRun(id, 1, { kind: "rank" });
  await store.close();
  return { dataDir, planId: id, runId: run.runId };
}

async function rankResult() {
  const engine = createFakeEngine();
  engine.pace = { steps: 1, counts: 0, countMs: 0 };
  const loaded = { plan: samplePlan() } as Parameters<typeof engine.rank>[0];
  return engine.rank(loaded, fakeScene(), {});
}

const jobs: Record<string, (store: Store, at: Seed) => Promise<unknown>> = {
  "make a plan from a sample": (store) => store.createFromSample("meadow"),
  "save a plan": (store, at) => store.savePlan(at.planId, 1, samplePlan("Saved")),
  "upload a file": async (store, at) => {
    const upload = await store.upload(at.planId, "new.tif");
    try {
      await upload.write(new Uint8Array(1000).fill(7));
      await upload.write(new Uint8Array(1000).fill(8));
    } catch (thrown) {
      await upload.drop();
      throw thrown;
    }
    return upload.keep(false);
  },
  "replace a file": async (store, at) => {
    const upload = await store.upload(at.planId, "ground.tif");
    try {
      await upload.write(new Uint8Array(1000).fill(7));
    } catch (thrown) {
      await upload.drop();
      throw thrown;
    }
    return upload.keep(true);
  },
  "finish a run": async (store, at) => {
    await store.markRunning(at.runId);
    await store.finishRun(at.runId, {
      state: "done",
      error: null,
      summary: "one",
      stepSeconds: [],
      result: { kind: "rank", result: await rankResult(), origin: ORIGIN },
    });
  },
  "remove a plan": (store, at) => store.deletePlan(at.planId),
};

/** Whatever was refused: every plan is whole, old or new; every file is whole; a run is done with its result or not done. */
async function verify(at: Seed, samples: string): Promise<void> {
  const store = await openStore({ dataDir: at.dataDir, samplesDir: samples });
  try {
    expect(readdirSync(join(at.dataDir, "passing"))).toEqual([]);
    expect(readdirSync(join(at.dataDir, "discarded"))).toEqual([]);
    const plans = await store.plans();
    expect(readdirSync(join(at.dataDir, "plans")).sort()).toEqual(plans.map((p) => p.id).sort());
    for (const row of plans) {
      const plan = await store.plan(row.id);
      expect(["Sparrow Meadow", "Saved"]).toContain(plan.plan.name);
      if (plan.plan.name === "Saved") expect(plan.revision).toBe(2);
      expect((await store.revisions(row.id)).map((r) => r.revision)).toEqual(
        Array.from({ length: plan.revision }, (_, k) => plan.revision - k),
      );
      expect(JSON.parse(readFileSync(join(at.dataDir, "plans", row.id, "plan.json"), "utf8"))).toEqual(plan.plan);
      const files = new Map((await store.files(row.id)).map((f) => [f.name, f.bytes]));
      for (const name of ["canopy.tif", "ground.tif", "points.geojson"]) expect(files.has(name), name).toBe(true);
      expect([17, 1000]).toContain(files.get("ground.tif"));
      // A new ground under an old revision would make old results look fresh.
      if (files.get("ground.tif") === 1000) expect(plan.revision).toBeGreaterThan(1);
      if (files.has("new.tif")) expect(files.get("new.tif")).toBe(2000);
      expect(readdirSync(join(at.dataDir, "plans", row.id)).filter((n) => n.startsWith("."))).toEqual([]);
      for (const run of await store.runs(row.id)) {
        expect(run.state).not.toBe("running");
        expect(existsSync(join(at.dataDir, "runs", run.runId))).toBe(run.hasResult);
        expect(run.hasResult).toBe(run.state === "done");
        if (run.hasResult) {
          const result = await store.result(run.runId);
          if (result.kind !== "rank") throw new Error("wrong kind");
          expect(result.surface.scorePct).toEqual(fakeSurface().scorePct);
        }
      }
    }
    const kept = new Set((await Promise.all(plans.map((p) => store.runs(p.id)))).flat().map((r) => r.runId));
    for (const id of readdirSync(join(at.dataDir, "runs"))) expect(kept.has(id)).toBe(true);
  } finally {
    await store.close();
  }
}

for (const forGood of [false, true])
  test.each(Object.keys(jobs))(
    `%s: the n-th operation refused${forGood ? " and all after it" : ""}, for every n`,
    async (name) => {
      const samples = samplesDir();
      const start = await seed(samples);
      let passed = false;
      let n = 0;
      while (!passed) {
        n++;
        const at: Seed = { ...start, dataDir: join(temporaryFolder(), "data") };
        mkdirSync(at.dataDir);
        cpSync(start.dataDir, at.dataDir, { recursive: true });
        const faults: FailingDisk = failingDisk(0, forGood);
        // Opening is not part of the job: faults begin afterwards.
        let live: FailingDisk = faults;
        const store = await openStore({
          dataDir: at.dataDir,
          samplesDir: samples,
          disk: new Proxy(faults.disk, { get: (_, key: keyof FailingDisk["disk"]) => live.disk[key] }),
          beforeWrite: () => live.beforeWrite(),
        });
        live = failingDisk(n, forGood);
        try {
          await jobs[name]!(store, at);
          if (!live.failed) passed = true;
        } catch (thrown) {
          expect(live.failed).toBe(true);
          expect(thrown, `${name}, operation ${n}`).toBeInstanceOf(HardstandError);
          expect((thrown as HardstandError).code, `${name}, operation ${n}`).toBe("file.write-failed");
        }
        await store.close();
        await verify(at, samples);
        // The job can be done again, unless it had been done before the refusal.
        const again = await openStore({ dataDir: at.dataDir, samplesDir: samples });
        await jobs[name]!(again, at).catch((thrown: HardstandError) => {
          expect(["http.conflict", "http.not-found"]).toContain(thrown.code);
        });
        await again.close();
        await verify(at, samples);
        expect(n).toBeLessThan(100);
      }
      console.log(`${name}${forGood ? ", for good" : ""}: ${n - 1} operations refused in turn`);
      expect(n).toBeGreaterThan(2);
    },
  );

test("a file written over another is the old one or the new one after any refusal, and nothing lies beside it", async () => {
  const [before, after] = ["old ".repeat(500), "new!".repeat(700)];
  for (const forGood of [false, true])
    for (let n = 1; ; n++) {
      const folder = temporaryFolder();
      const path = join(folder, "x.json");
      await writeWhole(nodeDisk, path, before);
      const faults = failingDisk(n, forGood);
      const thrown = await writeWhole(faults.disk, path, after).then(
        () => null,
        (e: unknown) => e,
      );
      const found = readFileSync(path, "utf8");
      expect([before, after]).toContain(found);
      if (thrown === null) expect(found).toBe(after);
      expect(readdirSync(folder).filter((name) => name !== "x.json" && !isPart(name))).toEqual([]);
      if (!forGood) expect(readdirSync(folder)).toEqual(["x.json"]);
      if (!faults.failed) break;
      expect(thrown).toMatchObject({ code: "file.write-failed" });
    }
});

test("opening over any refused operation leaves the folder as it can be opened again", async () => {
  const samples = samplesDir();
  const start = await seed(samples);
  for (let n = 1; n < 12; n++) {
    const faults = failingDisk(n, true);
    await openStore({ dataDir: start.dataDir, samplesDir: samples, disk: faults.disk, beforeWrite: faults.beforeWrite })
      .then((store) => store.close())
      .catch((thrown) => expect(thrown).toBeInstanceOf(HardstandError));
    await verify(start, samples);
  }
});

test("what the disk says is told in words", async () => {
  const samples = samplesDir();
  const start = await seed(samples);
  for (const [code, message] of [
    ["ENOSPC", "the disk is full"],
    ["EROFS", "the folder may not be written"],
    ["EIO", "a file could not be written"],
  ] as const) {
    let live = failingDisk(0, false);
    const store = await openStore({
      dataDir: start.dataDir,
      samplesDir: samples,
      disk: new Proxy(live.disk, { get: (_, key: keyof FailingDisk["disk"]) => live.disk[key] }),
    });
    live = failingDisk(1, true, code);
    await expect(store.savePlan(start.planId, 1, samplePlan("Saved"))).rejects.toMatchObject({
      code: "file.write-failed",
      message,
    });
    await expect(store.health()).rejects.toMatchObject({ code: "file.write-failed" });
    await store.close();
  }
});
