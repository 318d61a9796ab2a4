import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { projectRoot } from "../support/tools.ts";

const dir = join(projectRoot, "client");
const files = readdirSync(dir, { recursive: true, encoding: "utf8" }).filter((f) => /\.tsx?$/.test(f));
const text = (f: string): string => readFileSync(join(dir, f), "utf8");

test("no component over 250 lines, no other module over 400", () => {
  expect(files.filter((f) => text(f).split("\n").length > (f.endsWith(".tsx") ? 251 : 401))).toEqual([]);
});
test("the map library is known in one folder only", () => {
  const wrong = files.filter((f) => !f.startsWith("map/") && /from "(maplibre-gl|terra-draw)/.test(text(f)));
  expect(wrong).toEqual([]);
});
test("no number is asked of the renderer", () => {
  expect(files.filter((f) => /queryTerrainElevation/.test(text(f)))).toEqual([]);
});
test("nothing is loaded from another host", () => {
  const all = [...files.map(text), readFileSync(join(dir, "index.html"), "utf8")];
  const outside = all
    .flatMap((t) => [...t.matchAll(/https?:\/\/[^\s"'`)]+/g)].map((m) => m[0]))
    .filter((u) => !u.startsWith("http://www.w3.org/"));
  expect(outside).toEqual([]);
});
test("the page has no inline script, so that a strict content policy holds", () => {
  const html = readFileSync(join(dir, "index.html"), "utf8");
  expect([...html.matchAll(/<script(?![^>]*\bsrc=)[^>]*>/g)]).toEqual([]);
  expect(html).not.toMatch(/\son[a-z]+=/);
});
