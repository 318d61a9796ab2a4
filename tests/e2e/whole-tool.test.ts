import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { rankAnswer } from "../../src/plan/outputs/rank.ts";
import { available, projectRoot } from "../support/tools.ts";
import { launch, mapReady, watchedPage } from "./support/browser.ts";

/** The tool as a person starts it: the service with its demo, the built client, a real ranking, in a real Chromium. */
const can =
  available("chromium", existsSync("/usr/bin/chromium")) &&
  available("the built client (npm run build)", existsSync(join(projectRoot, "dist/client/index.html")));

let browser: Browser;
let server: ChildProcess;
let dataDir: string;
let origin: string;

describe.skipIf(!can)("the whole tool", () => {
  beforeAll(async () => {
    dataDir = mkdtempSync(join(tmpdir(), "hs-whole-"));
    server = spawn(
      process.execPath,
      [join(projectRoot, "server/cli/launch.mjs"), "serve", "--port", "0", "--data", dataDir],
      {
        stdio: ["ignore", "pipe", "inherit"],
      },
    );
    origin = await new Promise<string>((resolve, reject) => {
      let said = "";
      server.stdout!.on("data", (d: Buffer) => {
        said += d.toString();
        const url = /http:\/\/127\.0\.0\.1:\d+/.exec(said);
        if (url) resolve(url[0]);
      });
      server.once("exit", (code) => reject(new Error(`the service ended with ${code}: ${said}`)));
    });
    browser = await launch();
  });

  afterAll(async () => {
    await browser?.close();
    server?.kill("SIGTERM");
    rmSync(dataDir, { recursive: true, force: true });
  });

  test("the demo opens by itself, runs with progress, and shows ranked spots whose numbers are the service's", async () => {
    const w = await watchedPage(browser, origin, { width: 1440, height: 900 });
    const { page } = w;
    await page.goto(origin);
    await page.getByText("Tamarack Flats, autumn fair").first().waitFor();
    await mapReady(page);
    await page.getByRole("button", { name: "Run", exact: true }).first().click();
    await page.getByRole("region", { name: "Run" }).getByRole("progressbar").waitFor();
    await page.getByText("Results match the plan").waitFor({ timeout: 110_000 });
    await page.locator("li.spot").first().waitFor();

    const [plan] = (await (await fetch(`${origin}/api/plans`)).json()) as { id: string }[];
    const [run] = (await (await fetch(`${origin}/api/plans/${plan!.id}/runs`)).json()) as {
      runId: string;
      state: string;
    }[];
    expect(run!.state).toBe("done");
    const answer = rankAnswer.parse(await (await fetch(`${origin}/api/runs/${run!.runId}/result`)).json());
    expect(answer.spots.length).toBeGreaterThan(3);
    expect(answer.feasibleCount).toBeGreaterThan(0);
    const first = answer.spots[0]!;
    expect(await page.locator("li.spot .sc").first().innerText()).toContain(String(Math.round(first.score)));
    expect(await page.locator("li.spot").first().innerText()).toContain(first.name);

    // Any cell opens as its own full evaluation, and the winner's is the winner's.
    const cell = (await (
      await fetch(`${origin}/api/runs/${run!.runId}/cell?lng=${first.lng}&lat=${first.lat}&full=1`)
    ).json()) as {
      reason: string | null;
      spot: { score: number };
    };
    expect(cell.reason).toBeNull();
    expect(cell.spot.score).toBeCloseTo(first.score, 6);

    await page.getByRole("button", { name: "Open spot" }).first().click();
    await page.getByRole("heading", { name: "Why here" }).waitFor();
    await page.getByRole("img", { name: /^Cross-section from/ }).waitFor({ timeout: 30_000 });
    await page.getByRole("img", { name: /^Horizon seen from the dish/ }).waitFor({ timeout: 30_000 });
    expect(w.outside).toEqual([]);
    expect(w.complaints).toEqual([]);
    await page.context().close();
  }, 180_000);
});
