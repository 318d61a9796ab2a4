import { existsSync } from "node:fs";
import type { Server } from "node:http";
import type { AddressInfo } from "node:net";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { available, projectRoot } from "../support/tools.ts";
import { createMock, type MockOptions } from "./mock-server.ts";
import { launch, mapReady, type Watched, watchedPage } from "./support/browser.ts";

/** The built client in a real Chromium, against a small service that answers the same contract. */
const built = join(projectRoot, "dist", "client");
const can =
  available("chromium", existsSync("/usr/bin/chromium")) &&
  available("the built client (npm run build:client)", existsSync(join(built, "index.html")));

const DESK = { width: 1440, height: 900 };
let browser: Browser;
async function serve(options: Partial<MockOptions> = {}): Promise<{ origin: string; close: () => Promise<void> }> {
  const server: Server = createMock({ client: built, ready: true, ...options }).listen(0, "127.0.0.1");
  await new Promise<void>((done) => server.once("listening", () => done()));
  const { port } = server.address() as AddressInfo;
  return {
    origin: `http://127.0.0.1:${port}`,
    close: () => {
      server.closeAllConnections();
      return new Promise((done) => server.close(() => done()));
    },
  };
}
async function visit(
  path: string,
  options: Partial<MockOptions> = {},
  size = DESK,
): Promise<Watched & { origin: string; end: () => Promise<void>; stop: () => Promise<void> }> {
  const s = await serve(options);
  const w = await watchedPage(browser, s.origin, size);
  await w.page.goto(s.origin + path);
  return {
    ...w,
    origin: s.origin,
    stop: s.close,
    end: async () => {
      await w.page.context().close();
      await s.close();
    },
  };
}
const clean = (w: Watched): void => {
  expect(w.outside).toEqual([]);
  expect(w.complaints).toEqual([]);
};
const rows = (page: Page) => page.locator("li.spot");

describe.skipIf(!can)("the map client", () => {
  beforeAll(async () => {
    browser = await launch();
  });
  afterAll(async () => {
    await browser?.close();
  });

  test("from a finished plan over a run with progress to a ranked ledger; cancel keeps what is there", async () => {
    // Slow steps, so that a busy machine still presses Cancel in time.
    const v = await visit("/", { ready: false, stepMs: 800 });
    const { page } = v;
    await page.getByRole("button", { name: /Tamarack Flats/ }).click();
    await page.getByRole("button", { name: "Run", exact: true }).first().click();
    const run = page.getByRole("region", { name: "Run" });
    await run.getByRole("progressbar").waitFor();
    await run.getByText(/step \d of 4/).waitFor();
    await rows(page).first().waitFor({ timeout: 150_000 });
    expect(await rows(page).count()).toBe(9);
    expect(await page.locator("li.spot .sc").first().innerText()).toMatch(/\d+/);
    await page.getByText("Results match the plan").waitFor();
    await page.getByRole("button", { name: "Run", exact: true }).click();
    await run.getByRole("button", { name: "Cancel" }).click();
    await page.getByText("Run cancelled. The earlier results are still here.").waitFor();
    expect(await rows(page).count()).toBe(9);
    clean(v);
    await v.end();
  });

  test("a spot opens with checks, points, cross-section and sky; numbers say where they come from", async () => {
    const v = await visit("/?plan=p1");
    const { page } = v;
    await mapReady(page);
    await page.getByRole("button", { name: "Open spot" }).click();
    await page.getByRole("heading", { name: "Why here" }).waitFor();
    const section = page.getByRole("img", { name: /^Cross-section from/ });
    await section.waitFor();
    await page.getByRole("img", { name: /^Horizon seen from the dish/ }).waitFor();
    expect(await section.locator("path.ray").getAttribute("d")).toMatch(/^M[\d.]+ [\d.]+L/);
    expect(await section.locator("path.fresnel").getAttribute("d")).toMatch(/Z$/);
    expect(await page.locator("svg.sky .tube").count()).toBe(2);
    await page
      .getByRole("table")
      .filter({ hasText: "Gives out first" })
      .getByRole("button", { name: "Gate 1 G1" })
      .click();
    await page.getByRole("img", { name: /^Cross-section from .* to Gate 1,/ }).waitFor();
    await section.focus();
    await page.keyboard.press("End");
    await page.locator("svg.section path.cursor").waitFor({ state: "attached" });
    await page.locator("table.checks button.num").first().click();
    await page.getByRole("dialog", { name: /where it comes from/ }).waitFor();
    await page.keyboard.press("Escape");
    expect(await page.locator(".dataline").innerText()).toContain("Prediction, not a promise.");
    clean(v);
    await v.end();
  });

  test("legend and cell values come from the service, not from the picture", async () => {
    const v = await visit("/?plan=p1");
    const { page } = v;
    await mapReady(page);
    const legend = page.getByRole("region", { name: "Legend: Score of each cell" });
    await legend.waitFor();
    expect(await legend.locator(".ramp i").count()).toBe(6);
    for (const word of ["Power line too close", "Unknown"]) await legend.getByText(word, { exact: true }).waitFor();
    const asked = page.waitForRequest((r) => /\/api\/runs\/[^/]+\/cell\?/.test(r.url()));
    await page.mouse.click(960, 700);
    const url = new URL((await asked).url());
    const cell = (await (await fetch(url)).json()) as { reasonText: string; usng: string };
    const card = page.getByRole("status", { name: "Picked cell" });
    await card.getByText(cell.reasonText).waitFor();
    clean(v);
    await v.end();
  });

  test("coverage runs for the selected spot and brings its own legend", async () => {
    const v = await visit("/?plan=p1&show=coverage", { stepMs: 30 });
    await v.page.getByRole("region", { name: "Legend: Chance of service" }).waitFor({ timeout: 150_000 });
    clean(v);
    await v.end();
  });

  test("a trial spot answers at once, then in full; kept, it makes the results stale, and undo makes them fresh", async () => {
    const v = await visit("/?plan=p1");
    const { page } = v;
    await mapReady(page);
    await page.keyboard.press("m");
    await page.getByText("about, from screening").waitFor();
    await page.locator(".trial-marker").focus();
    const before = await page.locator(".place b").innerText();
    for (let i = 0; i < 3; i++) await page.keyboard.press("Shift+ArrowRight");
    await expect.poll(() => page.locator(".place b").innerText()).not.toBe(before);
    await page.keyboard.press("Enter");
    await page.getByText("full prediction", { exact: true }).waitFor();
    await page.getByRole("button", { name: "Keep as spot" }).click();
    await page.getByText("1 change since the last run").waitFor();
    await page.getByRole("button", { name: "Run again" }).waitFor();
    await page.keyboard.press("Control+z");
    await page.getByText("Results match the plan").waitFor();
    clean(v);
    await v.end();
  });

  test("two spots compare in words, checks and two sections", async () => {
    const v = await visit("/?plan=p1&compare=s1,s5");
    const { page } = v;
    await page.getByRole("heading", { name: "Compare" }).waitFor();
    expect(await page.locator(".compare-say").innerText()).toMatch(/1 is ahead/);
    await expect
      .poll(() => page.getByRole("img", { name: /^Cross-section from spot/ }).count(), { timeout: 20_000 })
      .toBe(2);
    clean(v);
    await v.end();
  });

  test("no feasible spot is an answer with the nearest misses", async () => {
    const v = await visit("/?plan=p1", { noFeasible: true });
    const { page } = v;
    await page.getByRole("heading", { name: "No spot serves every must" }).waitFor();
    await page.getByRole("heading", { name: /Where the ground went/ }).waitFor();
    expect(await page.locator(".sec.flush .item").count()).toBe(3);
    await page.getByRole("button", { name: "Try it" }).first().waitFor();
    clean(v);
    await v.end();
  });

  test("a form checks what is typed; a changed field is one undo step", async () => {
    const v = await visit("/?plan=p1&stage=plan");
    const { page } = v;
    await mapReady(page);
    await page.getByRole("button", { name: /Staging A/ }).click();
    const share = page.getByLabel("Share that must be served");
    await share.fill("105");
    await page.getByRole("alert").filter({ hasText: "105 % is more than everything" }).waitFor();
    await page.getByText("1 field to fix before the next run").waitFor();
    await share.fill("92");
    await share.blur();
    await page.getByText("1 change since the last run").waitFor();
    await expect
      .poll(async () => ((await (await fetch(`${v.origin}/api/plans/p1`)).json()) as { revision: number }).revision)
      .toBe(2);
    await page.getByRole("button", { name: /^Undo: Changed Staging A/ }).click();
    await page.getByText("Results match the plan").waitFor();
    clean(v);
    await v.end();
  });

  test("an area drawn with the mouse opens its form, stands in the plan, and is one undo step", async () => {
    const v = await visit("/?plan=p1&stage=plan");
    const { page } = v;
    await mapReady(page);
    await page.getByRole("button", { name: "Parking", exact: true }).click();
    await page.getByText("Click its corners; click the first one again to close it. Esc stops.").waitFor();
    const corners: [number, number][] = [
      [760, 620],
      [860, 620],
      [860, 690],
      [760, 690],
      [760, 620],
    ];
    await page.waitForTimeout(1500);
    for (const [x, y] of corners) {
      await page.mouse.move(x, y, { steps: 3 });
      await page.waitForTimeout(150);
      await page.mouse.click(x, y);
      await page.waitForTimeout(150);
    }
    await page.locator(".toast").getByText("Added Parking 4").waitFor();
    expect(await page.getByLabel("Name", { exact: true }).inputValue()).toBe("Parking 4");
    const stored = async (): Promise<number> =>
      ((await (await fetch(`${v.origin}/api/plans/p1`)).json()) as { parking: { features: unknown[] } }).parking
        .features.length;
    await expect.poll(stored).toBe(4);
    await page.getByRole("button", { name: /^Undo: Added Parking 4/ }).click();
    await expect.poll(stored).toBe(3);
    clean(v);
    await v.end();
  });

  test("by keyboard alone: stages, spots, open, regions, list, find, back", async () => {
    const v = await visit("/?plan=p1");
    const { page } = v;
    await mapReady(page);
    await rows(page).first().waitFor();
    await page.keyboard.press("1");
    await page.getByRole("heading", { name: "Plan", exact: true }).waitFor();
    await page.keyboard.press("2");
    await page.keyboard.press("j");
    await expect.poll(() => page.locator("li.spot[aria-current=true] .slab").innerText()).toBe("2");
    await page.keyboard.press("k");
    await page.keyboard.press("Enter");
    await page.getByRole("heading", { name: "Why here" }).waitFor();
    const seen: string[] = [];
    for (let i = 0; i < 5; i++) {
      await page.keyboard.press("F6");
      seen.push(await page.evaluate(() => document.activeElement?.getAttribute("data-region") ?? ""));
    }
    expect(new Set(seen)).toEqual(new Set(["banner", "panel", "map", "bench", "dataline"]));
    await page.keyboard.press("Escape");
    await expect.poll(() => rows(page).count()).toBe(9);
    await page.keyboard.press("l");
    const list = page.getByRole("region", { name: "Everything on the map" });
    await list.waitFor();
    for (const name of ["1 Barn Yard, east", "Medical tent", "West Field", "69 kV line", "Grain elevator"])
      await list.getByText(name, { exact: true }).waitFor();
    await page.keyboard.press("Escape");
    await page.keyboard.press("/");
    await page.getByLabel("Name, or a coordinate in any notation").fill("41.6385, -98.4980");
    await page.getByText(/^Understood:/).waitFor();
    await page.keyboard.press("Enter");
    await page.getByRole("heading", { name: "Trial spot" }).waitFor();
    await page.keyboard.press("Escape");
    await page.keyboard.press("p");
    expect(await page.getByRole("radio", { name: "Plan only" }).isChecked()).toBe(true);
    clean(v);
    await v.end();
  });

  test("the service goes away and comes back: said once, edits kept, then saved", async () => {
    const v = await visit("/?plan=p1&stage=plan");
    const { page } = v;
    await page.getByRole("button", { name: /Staging A/ }).click();
    await page.route("**/api/**", (route) => route.abort());
    const share = page.getByLabel("Share that must be served");
    await share.fill("91");
    await share.blur();
    await page.getByText("No connection. You can look and edit; changes are kept here.").waitFor();
    await page.unroute("**/api/**");
    await expect
      .poll(async () => ((await (await fetch(`${v.origin}/api/plans/p1`)).json()) as { revision: number }).revision, {
        timeout: 20_000,
      })
      .toBe(2);
    await page.getByText("1 change since the last run").waitFor();
    expect(v.outside).toEqual([]);
    await v.end();
  });

  test("the map survives a lost graphics context", async () => {
    const v = await visit("/?plan=p1");
    const { page } = v;
    await mapReady(page);
    await page.evaluate(async () => {
      const gl = document.querySelector<HTMLCanvasElement>(".map canvas")!.getContext("webgl2")!;
      const lose = gl.getExtension("WEBGL_lose_context")!;
      lose.loseContext();
      await new Promise((r) => setTimeout(r, 300));
      lose.restoreContext();
      await new Promise((r) => setTimeout(r, 300));
    });
    await page.mouse.click(960, 700);
    await page.getByRole("status", { name: "Picked cell" }).waitFor();
    await expect.poll(() => painted(page), { timeout: 20_000 }).toBeGreaterThan(20);
    await v.end();
  });

  test.each([
    [1440, 900],
    [1024, 768],
    [390, 844],
  ])("nothing is cut off at %d px, names and roles are there, targets are large enough", async (width, height) => {
    for (const path of [
      "/?plan=p1",
      "/?plan=p1&spot=s5&open=1",
      "/?plan=p1&stage=plan",
      "/?plan=p1&stage=handover",
      "/",
    ]) {
      const v = await visit(path, {}, { width, height });
      const { page } = v;
      await page.locator("aside.panel h1").first().waitFor();
      const found = await page.evaluate(inspect, width < 720 ? 32 : 24);
      expect(found, path).toEqual({
        overflow: 0,
        nameless: [],
        small: [],
        landmarks: path === "/" ? found.landmarks : ["banner", "panel", "map", "dataline"],
        lang: "en",
      });
      expect(await page.locator(".dataline").isVisible()).toBe(true);
      clean(v);
      await v.end();
    }
  });
});

/** How many different colours stand in the map's middle: an empty canvas has one. */
async function painted(page: Page): Promise<number> {
  const shot = await page.locator(".map canvas").screenshot();
  return new Set(shot.toString("latin1").match(/.{3}/gs)).size;
}

/** Runs in the page. */
function inspect(least: number): {
  overflow: number;
  nameless: string[];
  small: string[];
  landmarks: string[];
  lang: string;
} {
  const shown = (e: Element): boolean =>
    e.getBoundingClientRect().width > 0 &&
    (e as HTMLElement).checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true });
  const name = (e: Element): string =>
    (e.getAttribute("aria-label") ?? (e as HTMLElement).innerText ?? "").trim() ||
    [...((e as HTMLInputElement).labels ?? [])]
      .map((l) => l.textContent ?? "")
      .join("")
      .trim() ||
    (e.getAttribute("title") ?? "");
  const controls = [
    ...document.querySelectorAll("button, a[href], input, select, textarea, summary, [role=img], [role=button]"),
  ].filter(shown);
  const where = (e: Element): string =>
    `${e.tagName.toLowerCase()}.${e.getAttribute("class") ?? ""} ${name(e)}`.slice(0, 80);
  const inText = (e: Element): boolean =>
    e.matches(".num, .link, .plain, .spot-name, .vh, .vh *, input[type=radio], input[type=checkbox]");
  return {
    overflow: Math.max(0, document.documentElement.scrollWidth - innerWidth),
    nameless: controls.filter((e) => name(e) === "").map(where),
    small: controls
      .filter(
        (e) =>
          e.matches("button, select, summary") &&
          !inText(e) &&
          Math.min(e.getBoundingClientRect().width, e.getBoundingClientRect().height) < Math.min(24, least),
      )
      .map(where),
    landmarks: [...document.querySelectorAll("[data-region]")]
      .map((e) => e.getAttribute("data-region") ?? "")
      .filter((r) => r !== "bench"),
    lang: document.documentElement.lang,
  };
}
