#!/usr/bin/env node
// Starts the built entry; builds first when there is no build or when a source file is newer than it.
import { spawnSync } from "node:child_process";
import { existsSync, readdirSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
const serverEntry = join(root, "dist/server/main.mjs");
const clientEntry = join(root, "dist/client/index.html");

function newest(dir) {
  let latest = 0;
  for (const entry of readdirSync(dir, { withFileTypes: true })) {
    const path = join(dir, entry.name);
    latest = Math.max(latest, entry.isDirectory() ? newest(path) : statSync(path).mtimeMs);
  }
  return latest;
}

function ensure(entry, folders, script) {
  const present = folders.map((f) => join(root, f)).filter((f) => existsSync(f));
  // An installed package has no client or src folder newer than its build; a clone does.
  if (existsSync(entry) && present.every((f) => newest(f) <= statSync(entry).mtimeMs)) return;
  process.stderr.write(`hardstand: building (${script})\n`);
  const done = spawnSync("npm", ["run", "-s", script], { cwd: root, stdio: ["ignore", 2, 2] });
  if (done.status !== 0) process.exit(done.status ?? 1);
}

ensure(serverEntry, ["src", "server"], "build:server");
if (process.argv[2] === "serve") ensure(clientEntry, ["src", "client"], "build:client");
await import(serverEntry);
