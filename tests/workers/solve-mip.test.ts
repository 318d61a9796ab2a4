import { afterAll, beforeAll, expect, test } from "vitest";
import { createPool, type Pool } from "../../server/workers/index.ts";
import { layoutInstance } from "../../src/placement/layouts/instance.ts";
import { type MipJob, mipJob } from "../../src/placement/layouts/mip.ts";
import { randomLayout } from "../support/random-layout.ts";

let pool: Pool;
beforeAll(() => {
  pool = createPool({ threads: 1 });
});
afterAll(() => pool.close());

function job(spots: number, tiles: number, timeLimitS: number): MipJob {
  const { matrix, places } = randomLayout({ seed: 3, spots, points: 10, areas: 8, tilesPerArea: tiles, mustShare: 0 });
  return mipJob(
    layoutInstance(matrix, places, { units: 8, separationM: 0 }),
    { kind: "score", mustsMet: 0 },
    timeLimitS,
  );
}

test("a solve on a worker: same job, same answer", async () => {
  const one = await pool.run("solve-mip", job(15, 9, 20));
  expect(one.status).toBe("optimal");
  expect(one.values).toHaveLength(15);
  expect(await pool.run("solve-mip", job(15, 9, 20))).toEqual(one);
});

test("out of time: it stops and says so", async () => {
  const stopped = await pool.run("solve-mip", job(80, 250, 0.05));
  expect(stopped.status).toBe("stopped");
});

test("a solve that is no longer wanted ends, and the next one is answered", async () => {
  const stop = new AbortController();
  const long = pool.run("solve-mip", job(80, 250, 60), { signal: stop.signal });
  const refused = expect(long).rejects.toMatchObject({ code: "run.cancelled" });
  setTimeout(() => stop.abort(), 300);
  await refused;
  expect((await pool.run("solve-mip", job(15, 9, 20))).status).toBe("optimal");
});

test("text that is no problem at all is an error, not an answer", async () => {
  await expect(
    pool.run("solve-mip", { lp: "Maximize\n x0 +\nnothing", columns: ["x0"], timeLimitS: 1 }),
  ).rejects.toThrow();
});
