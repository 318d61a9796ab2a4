import type { AddressInfo } from "node:net";
import { join } from "node:path";
import { createMock } from "../e2e/mock-server.ts";
import { launch, mapReady, watchedPage } from "../e2e/support/browser.ts";
import { projectRoot } from "../support/tools.ts";

/**
 * Main-thread work per frame while the map is panned with every layer on, and the first paint on loopback.
 * The picture itself is drawn by a software renderer here, off the main thread; only scripted and layout work is counted.
 */
const server = createMock({ client: join(projectRoot, "dist", "client"), ready: true }).listen(0, "127.0.0.1");
await new Promise<void>((done) => server.once("listening", () => done()));
const origin = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
const browser = await launch();
const { page } = await watchedPage(browser, origin, { width: 1440, height: 900 });
await page.goto(`${origin}/?plan=p1&spot=s1&open=1`);
await mapReady(page);
await page.waitForTimeout(4000);
const paint = (await page.evaluate(
  "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? NaN",
)) as number;
const cdp = await page.context().newCDPSession(page);
await cdp.send("Performance.enable");
const read = async (): Promise<Record<string, number>> =>
  Object.fromEntries((await cdp.send("Performance.getMetrics")).metrics.map((m) => [m.name, m.value]));
// As text: the loader of this script adds helpers to functions that the page does not know.
await page.evaluate("window.frames120 = 0; (function tick() { window.frames120++; requestAnimationFrame(tick); })()");
const counted = (): Promise<number> => page.evaluate("window.frames120") as Promise<number>;
const before = await read();
const from = await counted();
await page.mouse.move(900, 300);
await page.mouse.down();
for (let i = 0; i < 120; i++) await page.mouse.move(900 - 2 * i, 300 + i);
await page.mouse.up();
await page.waitForTimeout(500);
const after = await read();
const frames = (await counted()) - from;
const per = (name: string): string => (((after[name]! - before[name]!) / frames) * 1000).toFixed(2);
console.table([
  { what: "first contentful paint, ms", value: paint.toFixed(0) },
  { what: "frames while panning", value: String(frames) },
  { what: "script per frame, ms", value: per("ScriptDuration") },
  {
    what: "layout and style per frame, ms",
    value: (Number(per("LayoutDuration")) + Number(per("RecalcStyleDuration"))).toFixed(2),
  },
  { what: "all main-thread tasks per frame, ms", value: per("TaskDuration") },
]);
await browser.close();
server.close();
process.exit(0);
