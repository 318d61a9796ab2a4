import { type Browser, chromium, type Page } from "playwright-core";

const FLAGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];
export const launch = (): Promise<Browser> => chromium.launch({ executablePath: "/usr/bin/chromium", args: FLAGS });

export interface Watched {
  page: Page;
  /** Everything the page complained of. */
  complaints: string[];
  /** Requests to any other host. */
  outside: string[];
}
/** A page that notes each console error, each page error and each request to another host. */
export async function watchedPage(
  browser: Browser,
  origin: string,
  size: { width: number; height: number },
  theme = "day",
): Promise<Watched> {
  const context = await browser.newContext({ viewport: size, reducedMotion: "reduce", locale: "en-GB" });
  await context.addInitScript((t) => localStorage.setItem("hardstand.view", JSON.stringify({ theme: t })), theme);
  const page = await context.newPage();
  const complaints: string[] = [];
  const outside: string[] = [];
  page.on("console", (m) => {
    if (m.type() === "error") complaints.push(m.text());
  });
  page.on("pageerror", (e) => complaints.push(String(e)));
  page.on("request", (r) => {
    const url = r.url();
    if (/^(data|blob):/.test(url)) return;
    if (new URL(url).origin !== origin) outside.push(url);
  });
  return { page, complaints, outside };
}
/** Waits until the map has drawn all it has been given. */
export async function mapReady(page: Page): Promise<void> {
  await page.locator(".map .canvas[data-ready=true]").waitFor({ state: "attached", timeout: 60_000 });
}
