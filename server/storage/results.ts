import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import type { LngLat } from "../../src/geodesy/types.ts";
import type { RunKind } from "../../src/plan/http.ts";
import type { CoverAnswer, RankAnswer } from "../../src/plan/outputs/types.ts";
import type { Grid } from "../../src/terrain/scene.ts";
import { type Disk, syncFolder, writeError, writeWhole } from "./disk.ts";
import type { Layout } from "./layout.ts";
import type { ResultToStore, StoredResult } from "./types.ts";

interface Sheet {
  kind: RunKind;
  origin: LngLat;
  grid: Grid;
}

const bytesOf = (array: Float32Array | Uint8Array): Uint8Array =>
  // A copy: arrays may lie in shared memory, which file writes do not take, and may be written on by the engine.
  Uint8Array.from(new Uint8Array(array.buffer, array.byteOffset, array.byteLength));

const damaged = (path: string, cause?: unknown) =>
  new HardstandError("storage.damaged", "a stored result cannot be read", {
    where: path,
    hint: "run it again, or restore the data folder from a backup",
    cause,
  });

async function floats(path: string, count: number): Promise<Float32Array> {
  const data = await readFile(path).catch((thrown: unknown) => {
    throw damaged(path, thrown);
  });
  if (data.byteLength !== count * 4) throw damaged(path);
  const values = new Float32Array(count);
  new Uint8Array(values.buffer).set(data);
  return values;
}

async function json<T>(path: string): Promise<T> {
  try {
    return JSON.parse(await readFile(path, "utf8")) as T;
  } catch (thrown) {
    throw damaged(path, thrown);
  }
}

/** Results of runs as files: the answer as JSON, arrays raw (little-endian, row-major, as `grid` in sheet.json says). */
export class Results {
  readonly #disk: Disk;
  readonly #layout: Layout;
  constructor(disk: Disk, layout: Layout) {
    this.#disk = disk;
    this.#layout = layout;
  }

  /** Puts the whole folder in place at once; a folder without a finished row is removed at the next start. */
  async store(runId: string, what: ResultToStore): Promise<void> {
    const making = join(this.#layout.passing, `run-${runId}`);
    const put = (name: string, data: Uint8Array | string) => writeWhole(this.#disk, join(making, name), data);
    try {
      await this.#disk.remove(making);
      await this.#disk.mkdir(making);
      const grid = what.kind === "rank" ? what.result.surface.grid : what.result.grid;
      const sheet: Sheet = { kind: what.kind, origin: what.origin, grid };
      await put("sheet.json", JSON.stringify(sheet));
      await put("answer.json", JSON.stringify(what.result.answer));
      if (what.kind === "rank") {
        await put("score.f32", bytesOf(what.result.surface.scorePct));
        await put("reason.u8", bytesOf(what.result.surface.reason));
      } else await put("values.f32", bytesOf(what.result.values));
      await this.#disk.remove(this.#layout.run(runId));
      await this.#disk.rename(making, this.#layout.run(runId));
      await syncFolder(this.#disk, this.#layout.runs);
    } catch (thrown) {
      await this.#disk.remove(making).catch(() => {});
      throw writeError(thrown, this.#layout.run(runId));
    }
  }

  answer(runId: string): Promise<RankAnswer | CoverAnswer> {
    return json(join(this.#layout.run(runId), "answer.json"));
  }

  async load(runId: string): Promise<StoredResult> {
    const folder = this.#layout.run(runId);
    const sheet = await json<Sheet>(join(folder, "sheet.json"));
    const { grid, origin } = sheet;
    const count = grid.cols * grid.rows;
    if (sheet.kind === "cover")
      return {
        kind: "cover",
        answer: await json<CoverAnswer>(join(folder, "answer.json")),
        values: await floats(join(folder, "values.f32"), count),
        grid,
        origin,
      };
    const reasonPath = join(folder, "reason.u8");
    const reason = await readFile(reasonPath).catch((thrown: unknown) => {
      throw damaged(reasonPath, thrown);
    });
    if (reason.byteLength !== count) throw damaged(reasonPath);
    return {
      kind: "rank",
      answer: await json<RankAnswer>(join(folder, "answer.json")),
      surface: { grid, scorePct: await floats(join(folder, "score.f32"), count), reason: new Uint8Array(reason) },
      origin,
    };
  }

  remove(runId: string): Promise<void> {
    return this.#disk.remove(this.#layout.run(runId));
  }
}
