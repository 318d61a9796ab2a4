import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative, resolve } from "node:path";
import { expect, test } from "vitest";
import { projectRoot } from "./support/tools.ts";

/** Which rooms each room may import from (besides itself). Imports run one way. */
const BASE = ["units", "errors"];
const ALLOWED: Record<string, string[]> = {
  "src/units": [],
  "src/errors": [],
  "src/plan": BASE,
  "src/geodesy": BASE,
  "src/terrain": [...BASE, "plan", "geodesy"],
  "src/antenna": [...BASE, "plan", "geodesy"],
  "src/propagation": [...BASE, "plan", "geodesy", "terrain", "antenna"],
  "src/satellite": [...BASE, "plan", "geodesy", "terrain", "antenna", "propagation"],
  "src/link": [...BASE, "plan", "geodesy", "terrain", "antenna", "propagation", "satellite"],
  "src/coverage": [...BASE, "plan", "geodesy", "terrain", "antenna", "propagation", "satellite", "link"],
  "src/placement": [...BASE, "plan", "geodesy", "terrain", "antenna", "propagation", "satellite", "link", "coverage"],
  "src/report": [
    ...BASE,
    "plan",
    "geodesy",
    "terrain",
    "antenna",
    "propagation",
    "satellite",
    "link",
    "coverage",
    "placement",
  ],
  "src/verify": [
    ...BASE,
    "plan",
    "geodesy",
    "terrain",
    "antenna",
    "propagation",
    "satellite",
    "link",
    "coverage",
    "placement",
  ],
};
const CLIENT_MAY = ["src/units", "src/errors", "src/plan", "src/geodesy", "src/report"];

function files(dir: string): string[] {
  return readdirSync(join(projectRoot, dir), { withFileTypes: true }).flatMap((e) =>
    e.isDirectory() ? files(join(dir, e.name)) : /\.(ts|tsx)$/.test(e.name) ? [join(dir, e.name)] : [],
  );
}

function imports(file: string): string[] {
  const text = readFileSync(join(projectRoot, file), "utf8");
  const found = text.matchAll(
    /(?:^|\n)\s*(?:import|export)\s[^;'"]*?from\s*["']([^"']+)["']|import\(\s*["']([^"']+)["']\s*\)|(?:^|\n)\s*import\s*["']([^"']+)["']/g,
  );
  return [...found].map((m) => (m[1] ?? m[2] ?? m[3])!);
}

const room = (path: string): string => path.split("/").slice(0, 2).join("/");

test("imports between rooms run one way", () => {
  const wrong: string[] = [];
  for (const file of [...files("src"), ...files("server"), ...files("client")]) {
    const from = room(file);
    for (const target of imports(file)) {
      if (!target.startsWith(".")) continue;
      const path = relative(projectRoot, resolve(join(projectRoot, dirname(file)), target));
      if (!path.startsWith("src/") && !path.startsWith("server/") && !path.startsWith("client/")) continue;
      if (file.startsWith("src/")) {
        if (from === "src/index.ts") continue;
        const to = room(path);
        if (to !== from && !(ALLOWED[from] ?? []).includes(to.slice(4))) wrong.push(`${file} → ${path}`);
      } else if (file.startsWith("client/")) {
        if (path.startsWith("server/") || (path.startsWith("src/") && !CLIENT_MAY.includes(room(path))))
          wrong.push(`${file} → ${path}`);
      } else if (path.startsWith("client/")) wrong.push(`${file} → ${path}`);
    }
  }
  expect(wrong).toEqual([]);
});

test("nothing in src or client touches Node, and geotiff stays in the terrain reader", () => {
  const wrong: string[] = [];
  for (const file of [...files("src"), ...files("client")])
    for (const target of imports(file)) {
      if (target.startsWith("node:")) wrong.push(`${file} → ${target}`);
      if (target === "geotiff" && !file.startsWith("src/terrain/reader")) wrong.push(`${file} → ${target}`);
    }
  for (const file of files("server")) if (imports(file).includes("geotiff")) wrong.push(`${file} → geotiff`);
  expect(wrong).toEqual([]);
});

test("every room of src is in the table", () => {
  const rooms = readdirSync(join(projectRoot, "src"), { withFileTypes: true })
    .filter((e) => e.isDirectory())
    .map((e) => `src/${e.name}`);
  expect(rooms.filter((r) => !(r in ALLOWED))).toEqual([]);
});
