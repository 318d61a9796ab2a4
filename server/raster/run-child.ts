import { spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { cancelled, HardstandError } from "../../src/errors/index.ts";
import type { ChildJob, ChildLine } from "./child-messages.ts";

/** Data (heap, buffers, private mappings) one import may take, kilobytes. */
const DATA_LIMIT_KB = 512 * 1024;
/** Heap of the child's own objects; buffers live outside it and are held by the data limit. */
const HEAP_MB = 192;

/** How to start the child: the bundle beside the running one, else the source through the loader of the tests. */
function childCommand(): string[] {
  const here = dirname(fileURLToPath(import.meta.url));
  const bundled = join(here, "decode-child.mjs");
  if (existsSync(bundled)) return [bundled];
  const source = join(here, "decode-child.ts");
  if (existsSync(source)) return ["--import", "tsx", source];
  throw new HardstandError("internal", "the decoding child is missing", { where: here, hint: "run the build again" });
}

/** Time for the process to start, and then for the head of the raster. */
const START_MS = 15_000;
const HEAD_MS = 4000;

/** Time for a raster of so many cells in a file of so many bytes: slow disks included, runaway decoding not. */
const decodeMs = (cells: number, bytes: number): number => HEAD_MS + Math.min(cells / 1500, bytes / 100);

export interface ChildLimits {
  /** Size of the raster's file, bytes. */
  bytes: number;
  signal?: AbortSignal | undefined;
  onProgress?: ((share: number) => void) | undefined;
}

/** Runs one decoding job in a child with a data limit and a deadline; throws what the child found wrong. */
export async function runChild(job: ChildJob, limits: ChildLimits): Promise<void> {
  if (limits.signal?.aborted) throw cancelled("reading the raster");
  const command = [`--max-old-space-size=${HEAP_MB}`, ...childCommand(), JSON.stringify(job)];
  const child = spawn("/bin/sh", ["-c", `ulimit -d ${DATA_LIMIT_KB}; exec "$0" "$@"`, process.execPath, ...command], {
    stdio: ["ignore", "pipe", "pipe"],
    env: { ...process.env, NODE_OPTIONS: "", UV_THREADPOOL_SIZE: "2" },
  });
  let ended: "time" | "cancel" | null = null;
  const stop = (why: "time" | "cancel"): void => {
    ended ??= why;
    child.kill("SIGKILL");
  };
  let allowedMs = START_MS;
  let timer = setTimeout(() => stop("time"), allowedMs);
  const allow = (ms: number): void => {
    clearTimeout(timer);
    allowedMs = ms;
    timer = setTimeout(() => stop("time"), ms);
  };
  const onAbort = (): void => stop("cancel");
  limits.signal?.addEventListener("abort", onAbort, { once: true });
  let outcome: ChildLine | null = null;
  let rest = "";
  let complaint = "";
  child.stdout.setEncoding("utf8").on("data", (chunk: string) => {
    rest += chunk;
    for (let cut = rest.indexOf("\n"); cut >= 0; cut = rest.indexOf("\n")) {
      const line = JSON.parse(rest.slice(0, cut)) as ChildLine;
      rest = rest.slice(cut + 1);
      if ("progress" in line) limits.onProgress?.(line.progress);
      else if ("started" in line) allow(HEAD_MS);
      else if ("cells" in line) allow(decodeMs(line.cells, limits.bytes));
      else outcome = line;
    }
  });
  child.stderr.setEncoding("utf8").on("data", (chunk: string) => {
    if (complaint.length < 4000) complaint += chunk;
  });
  try {
    const code = await new Promise<number | null>((resolve, reject) => {
      child.on("error", reject);
      child.on("close", resolve);
    });
    settle(job, outcome, ended, code, complaint, allowedMs);
  } finally {
    clearTimeout(timer);
    limits.signal?.removeEventListener("abort", onAbort);
    child.kill("SIGKILL");
  }
}

function settle(
  job: ChildJob,
  outcome: ChildLine | null,
  ended: "time" | "cancel" | null,
  code: number | null,
  complaint: string,
  deadlineMs: number,
): void {
  if (ended === "cancel") throw cancelled("reading the raster");
  if (outcome !== null && "error" in outcome) {
    const body = outcome.error;
    throw HardstandError.fromBody({ ...body, where: body.where === "" ? job.name : body.where });
  }
  if (outcome !== null && code === 0) return;
  if (ended === "time")
    throw new HardstandError("terrain.timeout", "the raster took too long to decode and was given up", {
      where: job.name,
      received: `${Math.round(deadlineMs / 1000)} s`,
      hint: "rewrite it with deflate or ZSTD compression in tiles of 256 cells; if it is small, it is damaged",
    });
  if (/out of memory|allocation failed|memory/i.test(complaint))
    throw new HardstandError("terrain.memory", "the raster needs more memory than one import may take", {
      where: job.name,
      hint: "rewrite it in tiles of 256 or 512 cells; if it is small, it is damaged",
    });
  throw new HardstandError("terrain.corrupt", "the raster ended the process that decoded it", {
    where: job.name,
    received: complaint.trim().split("\n")[0] ?? `exit ${code}`,
    hint: "fetch or export the file again",
  });
}
