import { join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import {
  createPool,
  type Pool,
  runProfiles,
  runSweeps,
  runVisible,
  type TaskName,
} from "../../server/workers/index.ts";
import { createPointOut, NOT_EVALUATED, PATH_NUMBERS, type SweepScene, sweepPoint } from "../../src/coverage/index.ts";
import { noise, ruggedTerrain } from "../support/closed-form-terrain.ts";

const pools: Pool[] = [];
const pool = (threads: number, rough = false): Pool => {
  const made = createPool(rough ? { threads, filename: join(import.meta.dirname, "rough-worker.ts") } : { threads });
  pools.push(made);
  return made;
};
afterAll(async () => {
  await Promise.all(pools.map((p) => p.close()));
});

/** Not square, and the points off the middle. */
function scene(cols = 97, rows = 61): SweepScene {
  const { cellM, groundM, obstacleM } = ruggedTerrain(cols, rows, 20, 5, true);
  const share = (values: Float32Array) => {
    const shared = new Float32Array(new SharedArrayBuffer(values.byteLength));
    shared.set(values);
    return shared;
  };
  const canopy = groundM.map((h, i) => (i % 7 === 0 ? h + 12 : Number.NEGATIVE_INFINITY));
  const solid = obstacleM.map((h, i) => Math.max(h, canopy[i]!));
  return {
    cols,
    rows,
    cellM,
    groundM: share(groundM),
    surfaceM: share(solid),
    bareSurfaceM: share(obstacleM),
    canopyTopM: share(canopy),
  };
}

const jobAt = (s: SweepScene, col: number, row: number) => ({
  col,
  row,
  antennaAmslM: s.groundM[row * s.cols + col]! + 1.5,
  receiverHeightM: 6,
  frequencyMHz: 763,
  polarization: "vertical" as const,
  maxRangeM: 1e9,
  mask: null,
  vegetation: { specificDbPerM: 0.15, maximumDb: 24 },
});
const wanted = { elevationDeg: true, unknownShare: true, lineOfSight: true, vegetationM: true, route: true };
const bytes = (values: ArrayBufferView) => Buffer.from(values.buffer, values.byteOffset, values.byteLength);

describe("results", () => {
  test("1, 2 and 3 workers and the calling thread fill the same bytes", async () => {
    const s = scene();
    const jobs = [jobAt(s, 30, 20), jobAt(s, 0, 60), jobAt(s, 96, 0)];
    const single = jobs.map((job) => {
      const out = createPointOut(s.cols * s.rows, wanted);
      sweepPoint(s, job, out);
      return out;
    });
    for (const threads of [0, 1, 2, 3]) {
      const outs = await runSweeps(pool(threads), s, jobs, { wanted });
      for (const [i, out] of outs.entries())
        for (const key of ["lossDb", "elevationDeg", "unknownShare", "lineOfSight", "vegetationM", "route"] as const)
          expect(bytes(out[key]!).equals(bytes(single[i]![key]!)), `${threads} threads, job ${i}, ${key}`).toBe(true);
    }
  });

  test("visibility and batches of paths are the same on 1 and 2 workers", async () => {
    const s = scene();
    const terrain = { ...s, obstacleM: s.surfaceM };
    const random = noise(11);
    const paths = new Float64Array(200 * PATH_NUMBERS);
    for (let i = 0; i < 200; i++)
      paths.set([random() * 96, random() * 60, 480, random() * 96, random() * 60, 470], i * 6);
    const eye = { col: 40, row: 7, eyeAmslM: 460, targetHeightM: 2, maxRangeM: 1e9, mask: null };
    const link = { frequencyMHz: 2437, polarization: "horizontal" as const };
    const [a, b] = [pool(1), pool(2)];
    const seen = await runVisible(a, terrain, eye);
    expect(seen.includes(NOT_EVALUATED)).toBe(false);
    expect(bytes(seen).equals(bytes(await runVisible(b, terrain, eye)))).toBe(true);
    const first = await runProfiles(a, terrain, link, paths);
    const second = await runProfiles(b, terrain, link, paths);
    expect(bytes(first.lossDb).equals(bytes(second.lossDb))).toBe(true);
    expect(first.lossDb.every((v) => v > 20)).toBe(true);
  });

  test("each job is told of once, when it is complete", async () => {
    const s = scene();
    const jobs = [jobAt(s, 10, 10), jobAt(s, 50, 30)];
    const told: number[] = [];
    await runSweeps(pool(2), s, jobs, {
      onSwept: (job, out) => {
        told.push(job);
        expect(out.lossDb.every((v) => !Number.isNaN(v))).toBe(true);
      },
    });
    expect(told.sort()).toEqual([0, 1]);
  });
});

describe("a run", () => {
  test("progress rises to 1 and never falls", async () => {
    const s = scene(400, 300);
    const seen: number[] = [];
    await runSweeps(pool(2), s, [jobAt(s, 200, 150), jobAt(s, 10, 10)], { onProgress: (share) => seen.push(share) });
    expect(seen.at(-1)).toBe(1);
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    expect(seen[0]).toBeGreaterThanOrEqual(0);
  });

  test("is cancelled within 200 ms and leaves the pool usable", async () => {
    const s = scene(900, 700);
    const p = pool(2);
    await p.run("sweep-point", { ...slice(s), rayFrom: 0, rayTo: 1 }); // threads are up
    const stop = new AbortController();
    const run = runSweeps(
      p,
      s,
      Array.from({ length: 12 }, (_, i) => jobAt(s, 100 + 50 * i, 300)),
      { signal: stop.signal },
    );
    let at = 0;
    setTimeout(() => {
      at = performance.now();
      stop.abort();
    }, 150);
    await expect(run).rejects.toMatchObject({ code: "run.cancelled" });
    expect(at).toBeGreaterThan(0);
    expect(performance.now() - at).toBeLessThan(200);
    await expect(p.run("sweep-point", { ...slice(s), rayFrom: 0, rayTo: 1 })).resolves.toBeNull();
  });

  test("cancelled before it starts does nothing", async () => {
    const s = scene();
    await expect(runSweeps(pool(1), s, [jobAt(s, 3, 3)], { signal: AbortSignal.abort() })).rejects.toMatchObject({
      code: "run.cancelled",
    });
  });

  test("a task that never looks at the flag is ended with its thread", async () => {
    const p = pool(1, true);
    const stop = new AbortController();
    const run = p.run("deaf" as TaskName, null as never, { signal: stop.signal });
    setTimeout(() => stop.abort(), 1500);
    await expect(run).rejects.toMatchObject({ code: "run.cancelled" });
    const s = scene();
    await expect(p.run("sweep-point", { ...slice(s), rayFrom: 0, rayTo: 1 })).resolves.toBeNull();
  });

  test("a worker that dies fails the run with run.worker-died, and the pool recovers", async () => {
    const p = pool(2, true);
    await expect(p.run("die" as TaskName, null as never)).rejects.toMatchObject({
      code: "run.worker-died",
      kind: "fault",
    });
    const s = scene();
    const out = createPointOut(s.cols * s.rows, {}, true);
    const whole = { scene: s, job: jobAt(s, 5, 5), out, rayFrom: 0, rayTo: 1e9 };
    await expect(p.run("sweep-point", whole)).resolves.toBeNull();
    expect(out.lossDb.every((v) => !Number.isNaN(v))).toBe(true);
  });

  test("errors cross with code, place and hint; a thrown string becomes an error", async () => {
    const s = scene();
    const p = pool(1, true);
    const off = { ...slice(s), job: { ...jobAt(s, 5, 5), col: 500 }, rayFrom: 0, rayTo: 1 };
    await expect(p.run("sweep-point", off)).rejects.toMatchObject({
      code: "model.input",
      body: { where: "col, row", hint: expect.stringContaining("97 columns") },
    });
    await expect(p.run("string" as TaskName, null as never)).rejects.toMatchObject({
      code: "internal",
      message: "only a string",
    });
    await expect(p.run("no-such-task" as TaskName, null as never)).rejects.toMatchObject({ code: "internal" });
  });

  test("closing the pool cancels what runs", async () => {
    const s = scene(900, 700);
    const p = createPool({ threads: 1 });
    const run = runSweeps(
      p,
      s,
      Array.from({ length: 8 }, () => jobAt(s, 400, 300)),
    );
    setTimeout(() => void p.close(), 1500);
    await expect(run).rejects.toMatchObject({ code: "run.cancelled" });
    await expect(p.run("sweep-point", { ...slice(s), rayFrom: 0, rayTo: 1 })).rejects.toMatchObject({
      code: "run.cancelled",
    });
  });
});

function slice(s: SweepScene) {
  return { scene: s, job: jobAt(s, 5, 5), out: createPointOut(s.cols * s.rows, {}, true) };
}
