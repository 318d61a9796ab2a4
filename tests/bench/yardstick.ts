import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";

const PYTHON = "/usr/bin/python3";

/** Says whether the outside tools of yardstick.py are there; else what is missing. */
export function yardstickMissing(): string | null {
  const run = spawnSync(PYTHON, ["-c", "import osgeo.gdal, scipy.ndimage, numpy"], {
    encoding: "utf8",
    timeout: 60_000,
  });
  return run.status === 0 ? null : `${PYTHON} with osgeo, numpy and scipy (python3-gdal, python3-scipy)`;
}

/** Outside tools, warm in a process of their own, asked one thing at a time. */
export class Yardstick {
  readonly #folder = mkdtempSync(join(tmpdir(), "yardstick-"));
  readonly #child: ChildProcess;
  readonly #waiting: { resolve: (answer: { ms: number }) => void; reject: (error: Error) => void }[] = [];
  #files = 0;

  constructor() {
    const script = join(import.meta.dirname, "yardstick.py");
    this.#child = spawn(PYTHON, [script], { stdio: ["pipe", "pipe", "inherit"] });
    createInterface({ input: this.#child.stdout! }).on("line", (line) =>
      this.#waiting.shift()?.resolve(JSON.parse(line)),
    );
    this.#child.once("exit", (code) => {
      for (const { reject } of this.#waiting) reject(new Error(`yardstick.py ended with ${code}`));
    });
  }

  ask(question: Record<string, unknown>): Promise<{ ms: number }> {
    return new Promise((resolve, reject) => {
      this.#waiting.push({ resolve, reject });
      this.#child.stdin!.write(`${JSON.stringify(question)}\n`);
    });
  }

  /** A scratch file holding these numbers. */
  file(values: Float32Array | Float64Array): string {
    const path = this.path();
    writeFileSync(path, new Uint8Array(values.buffer, values.byteOffset, values.byteLength));
    return path;
  }

  path(): string {
    return join(this.#folder, `${this.#files++}.raw`);
  }

  close(): void {
    this.#child.stdin!.end();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
