import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { temporaryFolder } from "../support/folders.ts";
import { startService } from "../support/service.ts";

function builtClient(): string {
  const dir = temporaryFolder();
  mkdirSync(join(dir, "assets"));
  writeFileSync(join(dir, "index.html"), "<!doctype html><title>t</title>");
  writeFileSync(join(dir, "assets", "index-Ab3dEf9h.js"), "1");
  writeFileSync(join(dir, "assets", "plain.js"), "1");
  writeFileSync(join(dir, "icon.svg"), "<svg/>");
  writeFileSync(join(dir, ".secret"), "no");
  return dir;
}

test("hashed files are kept for good, the page never, and nothing else is given out", async () => {
  const s = await startService({ clientDir: builtClient() });
  const at = async (path: string) => {
    const { status, headers } = await s.ask("GET", path);
    return [status, headers["content-type"], headers["cache-control"]];
  };
  expect(await at("/")).toEqual([200, "text/html; charset=utf-8", "no-cache"]);
  expect(await at("/plans/abc")).toEqual([200, "text/html; charset=utf-8", "no-cache"]);
  expect(await at("/assets/index-Ab3dEf9h.js")).toEqual([
    200,
    "text/javascript; charset=utf-8",
    "public, max-age=31536000, immutable",
  ]);
  expect(await at("/assets/plain.js")).toEqual([200, "text/javascript; charset=utf-8", "no-cache"]);
  expect(await at("/icon.svg")).toEqual([200, "image/svg+xml", "no-cache"]);
  // A file of an older build is not there: never the page in its place.
  for (const path of [
    "/assets/index-00000000.js",
    "/.secret",
    "/x.png",
    "/../package.json",
    "/%2e%2e/package.json",
    "/%2e%2e%2fpackage.json",
    "/assets/..%2f..%2fx.json",
  ])
    expect((await s.ask("GET", path)).status, path).toBeGreaterThanOrEqual(400);
  expect((await s.ask("GET", "/api/none")).json.error.code).toBe("http.not-found");
  expect((await s.ask("GET", "/api")).json.error.code).toBe("http.not-found");
  expect((await s.ask("POST", "/plans", { headers: { "Content-Type": "application/json" } })).status).toBe(404);
});

test("without a build the page says what to do", async () => {
  const s = await startService();
  const answer = await s.ask("GET", "/");
  expect([answer.status, answer.bytes.toString()]).toEqual([503, "The map client is not built. Run: npm run build\n"]);
});
