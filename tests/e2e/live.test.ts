import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { RankAnswer } from "../../src/plan/outputs/types.ts";
import { available, projectRoot } from "../support/tools.ts";
import { launch, mapReady, watchedPage } from "./support/browser.ts";

/** The built service and the built client together, on the invented fairground. */
const can =
  available("chromium", existsSync("/usr/bin/chromium")) &&
  available(
    "the built service and client (npm run build)",
    ["client/index.html", "server/main.mjs"].every((f) => existsSync(join(projectRoot, "dist", f))),
  );

describe.skipIf(!can)("service and client together", () => {
  let browser: Browser;
  let service: ChildProcess;
  let origin = "";
  const data = mkdtempSync(join(tmpdir(), "hardstand-live-"));

  beforeAll(async () => {
    service = spawn(
      process.execPath,
      [join(projectRoot, "dist", "server", "main.mjs"), "serve", "--port", "0", "--data", data],
      { stdio: ["ignore", "pipe", "pipe"] },
    );
    origin = await new Promise<string>((done, fail) => {
      let said = "";
      const take = (chunk: Buffer): void => {
        said += chunk.toString();
        const url = /http:\/\/127\.0\.0\.1:\d+/.exec(said);
        if (url) done(url[0]);
      };
      service.stdout!.on("data", take);
      service.stderr!.on("data", take);
      service.on("exit", () => fail(new Error(said)));
      setTimeout(() => fail(new Error(`no address after 30 s: ${said}`)), 30_000).unref();
    });
    browser = await launch();
  });
  afterAll(async () => {
    await browser?.close();
    service?.kill("SIGTERM");
    rmSync(data, { recursive: true, force: true });
  });

  test("open the fairground, run it, read the ledger, a spot, a cell and a trial spot; the page says what the arrays say", async () => {
    const w = await watchedPage(browser, origin, { width: 1440, height: 900 });
    const { page } = w;
    await page.goto(origin);
    await page
      .getByRole("button", { name: /Tamarack Flats/ })
      .first()
      .click();
    await mapReady(page);
    await page.getByRole("button", { name: "Run", exact: true }).first().click();
    await page.getByRole("progressbar").waitFor();
    await page.locator("li.spot").first().waitFor({ timeout: 150_000 });
    const plan = new URL(page.url()).searchParams.get("plan")!;
    const { latestRun } = (await (await fetch(`${origin}/api/plans/${plan}`)).json()) as { latestRun: string };
    const rank = (await (await fetch(`${origin}/api/runs/${latestRun}/result`)).json()) as RankAnswer;
    const names = await page.locator("li.spot .spot-name").allInnerTexts();
    expect(names.map((n) => n.replace(/^Spot \d+,\s*/, "").trim())).toEqual(rank.spots.map((s) => s.name));
    const scores = await page.locator("li.spot .sc").allInnerTexts();
    expect(scores.map((s) => Number(/\d+/.exec(s.replace(/score\s*/, ""))![0]))).toEqual(
      rank.spots.map((s) => Math.round(s.score)),
    );

    await page.getByRole("button", { name: "Open spot" }).click();
    await page.getByRole("img", { name: /^Cross-section from/ }).waitFor({ timeout: 150_000 });
    await page.getByRole("img", { name: /^Horizon seen from the dish/ }).waitFor({ timeout: 150_000 });
    expect(await page.locator("svg.sky .tube").count()).toBe(rank.spots[0]!.satellites.length);
    await page.keyboard.press("Escape");

    // The same place reads the same at three zooms: the value is the run's, not the picture's.
    const seen = new Set<string>();
    for (let zoom = 0; zoom < 3; zoom++) {
      await page.keyboard.press("/");
      const s = rank.spots[0]!;
      await page.getByLabel("Name, or a coordinate in any notation").fill(`${s.lat}, ${s.lng}`);
      await page.getByRole("button", { name: "Put the unit here" }).click();
      await page.getByText("full prediction", { exact: true }).waitFor({ timeout: 150_000 });
      seen.add(await page.locator(".figure-text").innerText());
      await page.keyboard.press("Escape");
      await page.getByRole("button", { name: "Closer" }).click();
    }
    expect([...seen]).toEqual([String(Math.round(rank.spots[0]!.score))]);
    expect(w.outside).toEqual([]);
    expect(w.complaints).toEqual([]);
  });
});
