import { writeSync } from "node:fs";
import { open } from "node:fs/promises";
import { HardstandError } from "../../src/errors/index.ts";
import { buildCache } from "./build-cache.ts";
import type { ChildJob, ChildLine } from "./child-messages.ts";
import { fileSource } from "./file-source.ts";
import { hgtMember } from "./zip.ts";

/**
 * The decoding child: one job, one cache file, then the end. It runs under a data limit and a deadline of its parent's,
 * so a hostile file can at worst end this process.
 */
const say = (line: ChildLine): void => {
  writeSync(1, `${JSON.stringify(line)}\n`);
};

async function run(job: ChildJob): Promise<void> {
  const file = await open(job.path, "r");
  try {
    const { size } = await file.stat();
    let source = fileSource(job.name, file, size);
    if (/\.zip$/i.test(job.name)) source = await hgtMember(source);
    let told = 0;
    await buildCache(source, job.target, job.options, {
      onHead: (cells) => say({ cells }),
      onProgress: (share) => {
        if (share - told < 0.02 && share < 1) return;
        told = share;
        say({ progress: share });
      },
    });
  } finally {
    await file.close();
  }
}

function asMemoryError(error: unknown): HardstandError {
  if (error instanceof HardstandError) return error;
  const message = error instanceof Error ? error.message : String(error);
  if (error instanceof RangeError && /alloc|memory|array (buffer )?length/i.test(message))
    return new HardstandError("terrain.memory", "the raster needs more memory than one import may take", {
      received: message,
      hint: "rewrite it in tiles of 256 or 512 cells",
    });
  const { code, syscall } = error as NodeJS.ErrnoException;
  if (code !== undefined && syscall !== undefined)
    return syscall === "write" || code === "ENOSPC"
      ? new HardstandError("file.write-failed", `the cache cannot be written: ${message}`, {
          hint: "make room, or set HARDSTAND_CACHE to another folder",
        })
      : new HardstandError("file.unreadable", `the raster cannot be read: ${message}`, {
          hint: "check the file and its disk",
        });
  return new HardstandError("terrain.corrupt", `the raster cannot be decoded: ${message}`, {
    hint: "fetch or export the file again",
  });
}

say({ started: true });
try {
  await run(JSON.parse(process.argv[2] ?? "") as ChildJob);
  say({ done: true });
} catch (error) {
  say({ error: asMemoryError(error).body });
  process.exitCode = 3;
}
