import { expect, test } from "vitest";
import { Feed } from "../../server/jobs/feed.ts";
import { Gate } from "../../server/jobs/gate.ts";
import { GroundDesk } from "../../server/jobs/ground-desk.ts";
import { RunQueue } from "../../server/jobs/queue.ts";
import { StepClock } from "../../server/jobs/step-clock.ts";
import { nodeDisk } from "../../server/storage/disk.ts";
import { openStore } from "../../server/storage/folder-store.ts";
import { HardstandError } from "../../src/errors/index.ts";
import { createFakeEngine } from "../support/fake-engine.ts";
import { samplesFolder, temporaryFolder } from "../support/folders.ts";
import { until } from "../support/service.ts";

const at = (step: string, stepIndex: number, done: number, total = 10, stepCount = 3) => ({
  step,
  stepIndex,
  stepCount,
  done,
  total,
});

test("time left is not told until it is known", () => {
  const clock = new StepClock([]);
  expect(clock.secondsLeft(0)).toBeNull();
  clock.progress(at("a", 0, 0), 0);
  clock.progress(at("a", 0, 5), 10_000);
  // Half of the first step is done, but nothing is known of the two that follow.
  expect(clock.secondsLeft(10_000)).toBeNull();
  clock.progress(at("c", 2, 0), 20_000);
  expect(clock.secondsLeft(20_000)).toBeNull();
  clock.progress(at("c", 2, 4), 24_000);
  expect(clock.secondsLeft(24_000)).toBe(6);
  clock.progress(at("c", 2, 10), 30_000);
  expect(clock.secondsLeft(30_000)).toBe(0);
  expect(clock.times(31_000)).toEqual([
    { step: "a", seconds: 20 },
    { step: "c", seconds: 11 },
  ]);
});

test("steps to come are reckoned from the last run of the kind", () => {
  const clock = new StepClock([
    { step: "a", seconds: 4 },
    { step: "b", seconds: 8 },
    { step: "c", seconds: 2 },
  ]);
  clock.progress(at("a", 0, 0), 0);
  expect(clock.secondsLeft(1000)).toBe(13);
  clock.progress(at("a", 0, 5), 5000);
  expect(clock.secondsLeft(5000)).toBe(15);
  clock.progress(at("b", 1, 0), 10_000);
  expect(clock.secondsLeft(20_000)).toBe(2);
  // A step that was not there last time: nothing can be said before the last.
  clock.progress(at("new", 1, 5), 21_000);
  expect(clock.secondsLeft(22_000)).toBeNull();
});

test("a step without a count is not divided by zero", () => {
  const clock = new StepClock([]);
  clock.progress(at("a", 2, 0, 0), 0);
  expect(clock.secondsLeft(5000)).toBeNull();
});

test("a feed keeps a bounded past and tells a stranger only where things stand", () => {
  const feed = new Feed();
  for (let i = 0; i < 200; i++) feed.push("progress", i);
  const last = feed.missed(null);
  expect(last.map((e) => e.data)).toEqual(["199"]);
  const all = feed.missed(last[0]!.id);
  expect(all).toEqual([]);
  const seen: string[] = [];
  const stop = feed.follow((e) => seen.push(e.data));
  feed.push("progress", "x");
  stop();
  feed.push("end", "y");
  expect(seen).toEqual(['"x"']);
  expect(feed.ended).toBe(true);
  expect(feed.missed(last[0]!.id).map((e) => e.data)).toEqual(['"x"', '"y"']);
  const serial = Number(last[0]!.id.split("-")[1]);
  expect(feed.missed(`${last[0]!.id.split("-")[0]}-${serial - 150}`)).toHaveLength(1);
});

test("a gate lets a few in, a few wait, sends the rest away, and frees the place of who leaves", async () => {
  const gate = new Gate(1, 1);
  let release!: () => void;
  const first = gate.run(new AbortController().signal, () => new Promise<void>((resolve) => (release = resolve)));
  const leaver = new AbortController();
  const second = gate.run(leaver.signal, () => "second");
  await expect(gate.run(new AbortController().signal, () => "third")).rejects.toMatchObject({ code: "http.busy" });
  leaver.abort();
  await expect(second).rejects.toMatchObject({ code: "run.cancelled" });
  const fourth = gate.run(new AbortController().signal, () => "fourth");
  release();
  await first;
  expect(await fourth).toBe("fourth");
  await expect(gate.run(leaver.signal, () => "x")).rejects.toMatchObject({ code: "run.cancelled" });
  // A fault inside gives its place back.
  await expect(gate.run(new AbortController().signal, () => Promise.reject(new Error("no")))).rejects.toThrow("no");
  expect(await gate.run(new AbortController().signal, () => "fifth")).toBe("fifth");
});

async function desk() {
  const store = await openStore({ dataDir: temporaryFolder(), samplesDir: samplesFolder() });
  const engine = createFakeEngine();
  return { store, engine, desk: new GroundDesk(engine, store), ...(await store.createFromSample("meadow")) };
}

test("ground asked for many times at once is built once; one who leaves does not stop it for the others", async () => {
  const d = await desk();
  d.engine.sceneMs = 60;
  const leaver = new AbortController();
  const left = d.desk.get(d.id, 1, leaver.signal);
  const stays = [d.desk.get(d.id), d.desk.get(d.id, 1)];
  setTimeout(() => leaver.abort(), 20);
  await expect(left).rejects.toMatchObject({ code: "run.cancelled" });
  const [a, b] = await Promise.all(stays);
  expect(a!.scene).toBe(b!.scene);
  expect(d.engine.calls.filter((c) => c === "scene")).toHaveLength(1);
  await d.store.close();
});

test("a build that did not come about is tried again", async () => {
  const d = await desk();
  const { scene } = d.engine;
  d.engine.scene = async () => {
    throw new HardstandError("file.missing", "ground.tif is not there");
  };
  await expect(d.desk.get(d.id)).rejects.toMatchObject({ code: "file.missing" });
  d.engine.scene = scene;
  expect((await d.desk.get(d.id)).scene.grid.cols).toBe(60);
  await d.store.close();
});

test("a run whose result cannot be stored is told as failed, and the next one runs", async () => {
  const dataDir = temporaryFolder();
  let full = false;
  const disk = {
    ...nodeDisk,
    open: async (path: string, flags: string) => {
      const file = await nodeDisk.open(path, flags);
      return {
        ...file,
        write: (data: Uint8Array) =>
          full ? Promise.reject(Object.assign(new Error("no space"), { code: "ENOSPC" })) : file.write(data),
      };
    },
  };
  const store = await openStore({ dataDir, samplesDir: samplesFolder(), disk });
  const engine = createFakeEngine();
  const queue = new RunQueue({ store, engine, desk: new GroundDesk(engine, store), log: () => {} });
  await queue.start();
  const { id } = await store.createFromSample("meadow");
  full = true;
  const run = await queue.add(id, 1, { kind: "rank" });
  await until(async () => (await queue.status(run)).state === "failed");
  expect(await queue.status(run)).toMatchObject({
    error: { code: "file.write-failed", message: "the disk is full" },
    hasResult: false,
  });
  expect(await store.run(run)).toMatchObject({ state: "failed", hasResult: false });
  full = false;
  const next = await queue.add(id, 1, { kind: "rank" });
  await until(async () => (await queue.status(next)).state === "done");
  await queue.close();
  await store.close();
});

test("a cancel that comes while the end is being stored changes nothing any more", async () => {
  const dataDir = temporaryFolder();
  let hold: Promise<void> | null = null;
  let holding = false;
  const disk = {
    ...nodeDisk,
    rename: async (from: string, to: string) => {
      if (hold !== null && to.includes("/runs/")) {
        holding = true;
        await hold;
      }
      await nodeDisk.rename(from, to);
    },
  };
  const store = await openStore({ dataDir, samplesDir: samplesFolder(), disk });
  const engine = createFakeEngine();
  const queue = new RunQueue({ store, engine, desk: new GroundDesk(engine, store), log: () => {} });
  const { id } = await store.createFromSample("meadow");
  let release!: () => void;
  hold = new Promise((resolve) => (release = resolve));
  const run = await queue.add(id, 1, { kind: "rank" });
  await until(() => holding);
  const cancel = queue.cancel(run);
  release();
  expect((await cancel).state).toBe("done");
  expect(await store.run(run)).toMatchObject({ state: "done", hasResult: true });
  await queue.close();
  await store.close();
});

test("a service that stops tells the run at work as interrupted at once", async () => {
  const d = await desk();
  const queue = new RunQueue({ store: d.store, engine: d.engine, desk: d.desk, log: () => {} });
  d.engine.stubbornMs = 0;
  const run = await queue.add(d.id, 1, { kind: "rank" });
  await until(async () => (await queue.status(run)).step === "Step 3");
  await queue.close();
  expect(await d.store.run(run)).toMatchObject({ state: "failed", error: { code: "run.interrupted" } });
  await d.store.close();
});
