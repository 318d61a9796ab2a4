import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { mkdir, readdir, rename, rm, stat, utimes } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import type { HeadOptions } from "../../src/terrain/reader/index.ts";
import { CACHE_VERSION } from "./cache-format.ts";

/** Most bytes the cache keeps; the least recently used files go first. */
const DEFAULT_LIMIT_MB = 4096;
/** A half-written file this old was left by a process that died. */
const STALE_MS = 3_600_000;

export const defaultCacheDir = (): string => process.env.HARDSTAND_CACHE ?? join(tmpdir(), "hardstand-cache");

const limitBytes = (): number => {
  const mb = Number(process.env.HARDSTAND_CACHE_MB ?? DEFAULT_LIMIT_MB);
  return (Number.isFinite(mb) && mb > 0 ? mb : DEFAULT_LIMIT_MB) * 1024 * 1024;
};

const hashes = new Map<string, string>();

/** SHA-256 of a file's bytes, streamed; remembered while name, size and time of change stay the same. */
export async function fileSha256(path: string): Promise<string> {
  const before = await stat(path, { bigint: true });
  const key = `${path}|${before.dev}|${before.ino}|${before.size}|${before.mtimeNs}|${before.ctimeNs}`;
  const known = hashes.get(key);
  if (known !== undefined) return known;
  const hash = createHash("sha256");
  for await (const chunk of createReadStream(path, { highWaterMark: 1024 * 1024 })) hash.update(chunk as Uint8Array);
  const sum = hash.digest("hex");
  if (hashes.size > 500) hashes.clear();
  hashes.set(key, sum);
  return sum;
}

/** Where the cache of this content, read this way, lives. A height file's name is part of what it says. */
export function cachePath(dir: string, sha256: string, name: string, options: HeadOptions): string {
  const read = [CACHE_VERSION, sha256, name, options.unit ?? "", options.verticalDatum ?? "", options.values ?? ""];
  return join(dir, `${createHash("sha256").update(JSON.stringify(read)).digest("hex").slice(0, 40)}.hsr`);
}

let counter = 0;

/** Builds a file beside its place and moves it there whole; two processes may do so at once. */
export async function placeAtomically(path: string, build: (temporary: string) => Promise<void>): Promise<void> {
  const dir = join(path, "..");
  try {
    await mkdir(dir, { recursive: true });
  } catch (error) {
    throw new HardstandError("file.write-failed", "the cache folder cannot be made", {
      where: dir,
      hint: "set HARDSTAND_CACHE to a folder that can be written",
      cause: error,
    });
  }
  const temporary = `${path}.${process.pid}.${counter++}.part`;
  try {
    await build(temporary);
    await rename(temporary, path);
  } finally {
    await rm(temporary, { force: true });
  }
}

/** Marks a file as used and drops the least recently used ones while the folder is over its limit; never `keep`. */
export async function tidy(dir: string, keep: string): Promise<void> {
  try {
    const now = new Date();
    await utimes(keep, now, now);
    const files: { path: string; size: number; used: number }[] = [];
    for (const entry of await readdir(dir)) {
      const path = join(dir, entry);
      const s = await stat(path).catch(() => null);
      if (s === null || !s.isFile()) continue;
      if (entry.endsWith(".part")) {
        if (now.getTime() - s.mtimeMs > STALE_MS) await rm(path, { force: true });
      } else if (entry.endsWith(".hsr")) files.push({ path, size: s.size, used: s.mtimeMs });
    }
    let total = files.reduce((n, f) => n + f.size, 0);
    const limit = limitBytes();
    for (const f of files.sort((a, b) => a.used - b.used)) {
      if (total <= limit) break;
      if (f.path === keep) continue;
      await rm(f.path, { force: true });
      total -= f.size;
    }
  } catch {
    // Housekeeping alone: another process may be doing the same.
  }
}
