import { type ChildProcess, spawn } from "node:child_process";
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { projectRoot, shared } from "../support/tools.ts";

export interface Verdict {
  path: string;
  seed: number;
  damage: string;
  /** "same", "changed", "changed, said", "moved", "moved, said", an error code, "unexpected", "hang" or "crash". */
  outcome: string;
  message?: string;
  changed?: number;
  /** The damage hit how cells are to be read (type, predictor, nodata, scale), not their bytes. */
  tagged?: boolean;
  ms: number;
}

/** Longest one mutant may take. */
const PATIENCE_MS = 5000;

export const mutantBases = (): string[] =>
  readdirSync(shared("terrain", "encodings"))
    .filter((f) => f.startsWith("storm_lake") && !/lzma|no_geo/.test(f))
    .map((f) => shared("terrain", "encodings", f));

/** Feeds mutants to a child under the import's data limit; a child that dies or hangs is a verdict, not the end. */
export async function runMutants(jobs: { path: string; seed: number }[]): Promise<Verdict[]> {
  const out: Verdict[] = [];
  let at = 0;
  while (at < jobs.length) {
    const child = spawn(
      "/bin/sh",
      [
        "-c",
        `ulimit -d ${512 * 1024}; exec "$0" "$@"`,
        process.execPath,
        "--max-old-space-size=192",
        "--import",
        "tsx",
        join(import.meta.dirname, "mutant-child.ts"),
      ],
      { cwd: projectRoot, stdio: ["pipe", "pipe", "inherit"] },
    );
    at = await drive(child, jobs, at, out);
  }
  return out;
}

/** One child's life: one mutant at a time; returns where the next child goes on. */
function drive(
  child: ChildProcess,
  jobs: { path: string; seed: number }[],
  from: number,
  out: Verdict[],
): Promise<number> {
  return new Promise((resolve) => {
    let at = from;
    let hung = false;
    let timer: NodeJS.Timeout;
    const next = (patienceMs: number): void => {
      if (at >= jobs.length) {
        child.stdin!.end();
        return;
      }
      clearTimeout(timer);
      timer = setTimeout(() => {
        hung = true;
        child.kill("SIGKILL");
      }, patienceMs);
      child.stdin!.write(`${JSON.stringify(jobs[at])}\n`);
    };
    child.stdin!.on("error", () => {}); // told by the close event
    createInterface({ input: child.stdout! }).on("line", (line) => {
      out.push(JSON.parse(line) as Verdict);
      at++;
      next(PATIENCE_MS);
    });
    child.on("close", () => {
      clearTimeout(timer);
      if (at < jobs.length) {
        const job = jobs[at]!;
        out.push({ path: job.path, seed: job.seed, damage: "?", outcome: hung ? "hang" : "crash", ms: PATIENCE_MS });
        at++;
      }
      resolve(at);
    });
    next(PATIENCE_MS + 20_000); // the first one also waits for the child's start
  });
}

/** Verdicts counted by encoding and outcome, as a table. */
export function tableOf(verdicts: Verdict[]): string {
  const outcomes = [...new Set(verdicts.map((v) => v.outcome))].sort();
  const bases = [...new Set(verdicts.map((v) => v.path))].sort();
  const count = (p: string, o: string): number => verdicts.filter((v) => v.path === p && v.outcome === o).length;
  return [
    `${"".padEnd(40)}${outcomes.map((o) => o.replace("terrain.", "").slice(0, 13).padStart(14)).join("")}`,
    ...bases.map((p) => `${p.padEnd(40)}${outcomes.map((o) => String(count(p, o)).padStart(14)).join("")}`),
  ].join("\n");
}
