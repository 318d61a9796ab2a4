import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { openStore } from "../../server/storage/folder-store.ts";
import type { Store } from "../../server/storage/types.ts";
import { emptyPlan } from "../../src/plan/draft.ts";
import { createFakeEngine, fakeScene, GRID, ORIGIN } from "../support/fake-engine.ts";
import { samplesFolder, temporaryFolder } from "../support/folders.ts";
import { samplePlan } from "../support/sample-plan.ts";

const fresh = async (): Promise<{ store: Store; dataDir: string; samplesDir: string }> => {
  const dataDir = temporaryFolder();
  const samplesDir = samplesFolder();
  return { store: await openStore({ dataDir, samplesDir }), dataDir, samplesDir };
};
const code = (promise: Promise<unknown>) =>
  promise.then(
    () => "none",
    (e: { code?: string }) => e.code,
  );

async function rankResult() {
  const engine = createFakeEngine();
  engine.pace = { steps: 1, counts: 0, countMs: 0 };
  const place = temporaryFolder();
  writeFileSync(join(place, "plan.json"), JSON.stringify(samplePlan()));
  writeFileSync(join(place, "points.geojson"), '{"type":"FeatureCollection","features":[]}');
  return engine.rank(await engine.load(place, "plan.json"), fakeScene(), {});
}

test("a plan made from a sample carries the sample's files and counts", async () => {
  const { store, dataDir } = await fresh();
  expect(await store.samples()).toEqual([{ id: "meadow", name: "Sparrow Meadow", description: "An invented meadow." }]);
  const { id } = await store.createFromSample("meadow");
  expect((await store.files(id)).map((f) => f.name)).toEqual(["canopy.tif", "ground.tif", "points.geojson"]);
  expect(await store.plans()).toMatchObject([{ id, name: "Sparrow Meadow", revision: 1, points: 1, parkingAreas: 1 }]);
  expect(existsSync(join(dataDir, "plans", id, "plan.json"))).toBe(true);
  expect(await code(store.createFromSample("../meadow"))).toBe("http.not-found");
  await store.close();
});

test("a save over an old revision changes nothing and says so; every revision stays readable", async () => {
  const { store } = await fresh();
  const { id } = await store.createPlan(samplePlan("One"));
  expect(await store.savePlan(id, 1, samplePlan("Two"))).toBe(2);
  expect(await code(store.savePlan(id, 1, samplePlan("Three")))).toBe("http.conflict");
  expect((await store.plan(id)).plan.name).toBe("Two");
  expect((await store.revision(id, 1)).plan.name).toBe("One");
  expect((await store.revisions(id)).map((r) => r.revision)).toEqual([2, 1]);
  expect(await code(store.revision(id, 3))).toBe("http.not-found");
  await store.close();
});

test("of many saves at once over the same revision exactly one holds", async () => {
  const { store } = await fresh();
  const { id } = await store.createPlan(samplePlan("Start"));
  const outcomes = await Promise.all(
    Array.from({ length: 12 }, (_, i) => code(store.savePlan(id, 1, samplePlan(`Writer ${i}`)))),
  );
  expect(outcomes.filter((o) => o === "none")).toHaveLength(1);
  expect(outcomes.filter((o) => o === "http.conflict")).toHaveLength(11);
  const kept = await store.plan(id);
  expect(kept.revision).toBe(2);
  expect(kept.plan.name).toBe(`Writer ${outcomes.indexOf("none")}`);
  await store.close();
});

test("ids that are no ids of ours are not found and touch no path", async () => {
  const { store } = await fresh();
  for (const id of ["..", "../x", "a/b", "", "PLAN", "a".repeat(60), "%2e%2e", "\0"]) {
    expect(await code(store.plan(id))).toBe("http.not-found");
    expect(await code(store.run(id))).toBe("http.not-found");
    expect(await code(store.deletePlan(id))).toBe("http.not-found");
  }
  await store.close();
});

test("an upload is seen only when whole; the same name again needs a word and makes a new revision", async () => {
  const { store, dataDir } = await fresh();
  const { id } = await store.createPlan(emptyPlan("Blank"));
  const first = await store.upload(id, "dsm 2024.tif");
  await first.write(new Uint8Array([1, 2, 3]));
  expect(await store.files(id)).toEqual([]);
  const kept = await first.keep(false);
  // SHA-256 of the bytes 01 02 03 by coreutils sha256sum.
  expect(kept).toEqual({
    bytes: 3,
    sha256: "039058c6f2c0cb492c533b0a4d14ef77cc0f78abccced5287d84a1a2011cfb81",
    revision: 1,
  });
  const second = await store.upload(id, "dsm 2024.tif");
  await second.write(new Uint8Array([9]));
  expect(await code(second.keep(false))).toBe("http.conflict");
  expect([...readFileSync(join(dataDir, "plans", id, "dsm 2024.tif"))]).toEqual([1, 2, 3]);
  const third = await store.upload(id, "dsm 2024.tif");
  await third.write(new Uint8Array([9]));
  expect((await third.keep(true)).revision).toBe(2);
  expect((await store.plan(id)).revision).toBe(2);
  const dropped = await store.upload(id, "other.tif");
  await dropped.write(new Uint8Array([9]));
  await dropped.drop();
  expect((await store.files(id)).map((f) => f.name)).toEqual(["dsm 2024.tif"]);
  expect(readdirSync(join(dataDir, "passing"))).toEqual([]);
  for (const name of [
    "../a.tif",
    "a/b.tif",
    ".hidden.tif",
    "plan.json",
    "PLAN.3.json",
    "x.exe",
    "noext",
    "a..b.tif",
    "a\0.tif",
  ])
    expect(await code(store.upload(id, name)), name).toBe("http.bad-request");
  await store.close();
});

test("a result comes back as it was stored, shared memory included", async () => {
  const { store } = await fresh();
  const { id } = await store.createPlan(samplePlan());
  const run = await store.addRun(id, 1, { kind: "rank" });
  expect(await code(store.result(run.runId))).toBe("http.not-ready");
  await store.markRunning(run.runId);
  const result = await rankResult();
  const shared = new Float32Array(new SharedArrayBuffer(result.surface.scorePct.byteLength));
  shared.set(result.surface.scorePct);
  result.surface.scorePct = shared;
  await store.finishRun(run.runId, {
    state: "done",
    error: null,
    summary: "1 spot",
    stepSeconds: [{ step: "Step 1", seconds: 2 }],
    result: { kind: "rank", result, origin: ORIGIN },
  });
  const back = await store.result(run.runId);
  if (back.kind !== "rank") throw new Error("wrong kind");
  expect(back.surface.scorePct).toEqual(new Float32Array(shared));
  expect(back.surface.reason).toEqual(result.surface.reason);
  expect(back.surface.grid).toEqual(GRID);
  expect(back.answer).toEqual(result.answer);
  expect(back.origin).toEqual(ORIGIN);
  expect((await store.latestRank(id))?.runId).toBe(run.runId);
  expect(await store.latestRank(id, 2)).toBeNull();
  expect(await store.stepTimes(id, "rank")).toEqual([{ step: "Step 1", seconds: 2 }]);
  await store.deletePlan(id);
  expect(await code(store.run(run.runId))).toBe("http.not-found");
  await store.close();
});

test("a result cut short is told as damage, not read as shorter data", async () => {
  const { store, dataDir } = await fresh();
  const { id } = await store.createPlan(samplePlan());
  const run = await store.addRun(id, 1, { kind: "rank" });
  await store.finishRun(run.runId, {
    state: "done",
    error: null,
    summary: "",
    stepSeconds: [],
    result: { kind: "rank", result: await rankResult(), origin: ORIGIN },
  });
  const path = join(dataDir, "runs", run.runId, "score.f32");
  writeFileSync(path, readFileSync(path).subarray(0, 100));
  expect(await code(store.result(run.runId))).toBe("storage.damaged");
  await store.close();
});

test("after a restart nothing is running, half-stored results are gone, queued runs wait", async () => {
  const { store, dataDir, samplesDir } = await fresh();
  const { id } = await store.createPlan(samplePlan());
  const running = await store.addRun(id, 1, { kind: "rank" });
  const queued = await store.addRun(id, 1, { kind: "rank" });
  await store.markRunning(running.runId);
  await store.close();
  mkdirSync(join(dataDir, "runs", running.runId));
  writeFileSync(join(dataDir, "runs", running.runId, "score.f32"), "half");
  writeFileSync(join(dataDir, "passing", ".1-x.part"), "half");
  writeFileSync(join(dataDir, "plans", id, "plan.json"), "half");
  const again = await openStore({ dataDir, samplesDir });
  expect(await again.run(running.runId)).toMatchObject({
    state: "failed",
    hasResult: false,
    error: { code: "run.interrupted", message: "the run was interrupted by a restart" },
  });
  expect((await again.queued()).map((r) => r.runId)).toEqual([queued.runId]);
  expect(readdirSync(join(dataDir, "runs"))).toEqual([]);
  expect(readdirSync(join(dataDir, "passing"))).toEqual([]);
  expect(JSON.parse(readFileSync(join(dataDir, "plans", id, "plan.json"), "utf8")).name).toBe("Sparrow Meadow");
  await again.close();
});

test("a second server on the folder is turned away, and the folder is free again after a close", async () => {
  const { store, dataDir, samplesDir } = await fresh();
  expect(await code(openStore({ dataDir, samplesDir }))).toBe("storage.locked");
  await store.createPlan(samplePlan());
  await store.close();
  const again = await openStore({ dataDir, samplesDir });
  expect(await again.plans()).toHaveLength(1);
  await again.close();
});

test("a plan folder without a row is taken in; a removal cut short is finished", async () => {
  const { store, dataDir, samplesDir } = await fresh();
  const { id } = await store.createPlan(samplePlan());
  await store.close();
  mkdirSync(join(dataDir, "plans", "restored1"));
  writeFileSync(join(dataDir, "plans", "restored1", "plan.json"), JSON.stringify(samplePlan("From a backup")));
  mkdirSync(join(dataDir, "plans", "strange9"));
  mkdirSync(join(dataDir, "discarded", id));
  rmSync(join(dataDir, "plans", id), { recursive: true });
  const again = await openStore({ dataDir, samplesDir });
  expect((await again.plans()).map((p) => p.name)).toEqual(["From a backup"]);
  expect(existsSync(join(dataDir, "plans", "strange9"))).toBe(true);
  await again.close();
});

test("health reads and writes", async () => {
  const { store } = await fresh();
  await store.health();
  await store.close();
});
