import { spawn } from "node:child_process";
import { existsSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { openStore } from "../../server/storage/folder-store.ts";
import { fakeSurface } from "../support/fake-engine.ts";
import { samplesFolder, temporaryFolder } from "../support/folders.ts";
import { projectRoot } from "../support/tools.ts";

/** The soak command asks for more. */
const KILLS = Number(process.env.HARDSTAND_KILLS ?? 5);

/** Deterministic moments: a small linear congruential generator (Numerical Recipes), printed seed. */
let state = Number(process.env.HARDSTAND_SEED ?? 20260912);
const random = (): number => {
  state = (1_664_525 * state + 1_013_904_223) >>> 0;
  return state / 2 ** 32;
};

test(`killed at ${KILLS} random moments while writing: nothing acknowledged is lost, nothing half-written is shown`, {
  timeout: 20_000 + KILLS * 10_000,
}, async () => {
  console.log(`seed ${state}`);
  const dataDir = temporaryFolder();
  const samplesDir = samplesFolder();
  let acknowledged = 0;
  let before = 1;
  for (let kill = 0; kill < KILLS; kill++) {
    const child = spawn(
      process.execPath,
      ["--import", "tsx", join(projectRoot, "tests/support/store-child.ts"), dataDir, samplesDir],
      { cwd: projectRoot, stdio: ["ignore", "pipe", "inherit"] },
    );
    const lines: string[] = [];
    let text = "";
    child.stdout.setEncoding("utf8");
    await new Promise<void>((resolve) => {
      child.stdout.on("data", (chunk: string) => {
        text += chunk;
        const parts = text.split("\n");
        text = parts.pop()!;
        for (const line of parts) {
          lines.push(line);
          if (line === "ready") setTimeout(() => child.kill("SIGKILL"), 5 + random() * 150);
        }
      });
      child.on("close", () => resolve());
    });
    expect(lines[0]).toBe("ready");
    acknowledged += lines.length - 1;
    const told = (what: string) => lines.filter((l) => l.startsWith(what)).map((l) => l.split(" ")[1]!);
    const store = await openStore({ dataDir, samplesDir });
    const [row, ...more] = await store.plans();
    expect(more).toEqual([]);
    const plan = await store.plan(row!.id);
    const highest = Math.max(before, ...[...told("saved"), ...told("file")].map(Number));
    // At most what was being written at the moment of the kill goes beyond what was acknowledged.
    expect(plan.revision).toBeGreaterThanOrEqual(highest);
    expect(plan.revision).toBeLessThanOrEqual(highest + 2);
    expect((await store.revisions(row!.id)).map((r) => r.revision)).toEqual(
      Array.from({ length: plan.revision }, (_, k) => plan.revision - k),
    );
    for (let r = 1; r <= plan.revision; r++) await store.revision(row!.id, r);
    for (const runId of told("run")) {
      const result = await store.result(runId);
      if (result.kind !== "rank") throw new Error("wrong kind");
      expect(result.surface.reason).toEqual(fakeSurface().reason);
    }
    for (const run of await store.runs(row!.id)) {
      expect(["done", "failed", "queued"]).toContain(run.state);
      expect(existsSync(join(dataDir, "runs", run.runId))).toBe(run.hasResult);
      if (run.hasResult) await store.result(run.runId);
    }
    const ground = (await store.files(row!.id)).find((f) => f.name === "ground.tif")!;
    expect(ground.bytes === 17 || ground.bytes % 1000 === 0).toBe(true);
    expect(readdirSync(join(dataDir, "passing"))).toEqual([]);
    before = plan.revision;
    await store.close();
  }
  console.log(`${KILLS} kills, ${acknowledged} acknowledged writes, all there`);
  expect(acknowledged).toBeGreaterThan(KILLS);
});
