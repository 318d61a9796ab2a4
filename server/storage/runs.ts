import { readdir } from "node:fs/promises";
import { type ErrorBody, HardstandError } from "../../src/errors/index.ts";
import type { RunKind, RunState, StartRunBody } from "../../src/plan/http.ts";
import type { Database } from "./database.ts";
import { isId, type Layout, newId, notFound } from "./layout.ts";
import type { Results } from "./results.ts";
import type { Finish, StoredRun } from "./types.ts";

interface RunRecord {
  id: string;
  plan_id: string;
  plan_revision: number;
  kind: RunKind;
  args: string;
  state: RunState;
  created_at: string;
  started_at: string | null;
  finished_at: string | null;
  error: string | null;
  summary: string;
  has_result: number;
  step_seconds: string | null;
}

const fromRow = (row: RunRecord): StoredRun => ({
  runId: row.id,
  kind: row.kind,
  state: row.state,
  planId: row.plan_id,
  planRevision: row.plan_revision,
  args: JSON.parse(row.args) as StartRunBody,
  createdAt: row.created_at,
  startedAt: row.started_at,
  finishedAt: row.finished_at,
  error: row.error === null ? null : (JSON.parse(row.error) as ErrorBody),
  summary: row.summary,
  hasResult: row.has_result === 1,
  stepSeconds: row.step_seconds === null ? null : (JSON.parse(row.step_seconds) as StoredRun["stepSeconds"]),
});

/** What a run is told when the service went away under it. */
export const interrupted = (): HardstandError =>
  new HardstandError("run.interrupted", "the run was interrupted by a restart", {
    hint: "start it again; nothing of it was kept",
  });

export class Runs {
  readonly #db: Database;
  readonly #layout: Layout;
  readonly #results: Results;
  constructor(db: Database, layout: Layout, results: Results) {
    this.#db = db;
    this.#layout = layout;
    this.#results = results;
  }

  get(runId: string): StoredRun {
    const row = isId(runId) ? this.#db.one<RunRecord>("SELECT * FROM runs WHERE id = ?", runId) : undefined;
    if (row === undefined) throw notFound("run", runId);
    return fromRow(row);
  }

  add(planId: string, planRevision: number, args: StartRunBody): StoredRun {
    const id = newId();
    this.#db.write((run) =>
      run(
        `INSERT INTO runs (id, plan_id, plan_revision, kind, args, state, created_at, serial)
         VALUES (?, ?, ?, ?, ?, 'queued', ?, (SELECT COALESCE(MAX(serial), 0) + 1 FROM runs))`,
        id,
        planId,
        planRevision,
        args.kind,
        JSON.stringify(args),
        new Date().toISOString(),
      ),
    );
    return this.get(id);
  }

  ofPlan(planId: string): StoredRun[] {
    return this.#db.all<RunRecord>("SELECT * FROM runs WHERE plan_id = ? ORDER BY serial DESC", planId).map(fromRow);
  }

  queued(): StoredRun[] {
    return this.#db.all<RunRecord>("SELECT * FROM runs WHERE state = 'queued' ORDER BY serial").map(fromRow);
  }

  markRunning(runId: string): void {
    const changed = this.#db.write((run) =>
      run(
        "UPDATE runs SET state = 'running', started_at = ? WHERE id = ? AND state = 'queued'",
        new Date().toISOString(),
        runId,
      ),
    );
    if (changed === 0) throw notFound("queued run", runId);
  }

  /** Stores the result first and the state second: a run is done only when all of it can be read. */
  async finish(runId: string, finish: Finish): Promise<void> {
    if (finish.result !== null) await this.#results.store(runId, finish.result);
    const changed = this.#db.write((run) =>
      run(
        `UPDATE runs SET state = ?, finished_at = ?, error = ?, summary = ?, has_result = ?, step_seconds = ?
         WHERE id = ? AND state IN ('queued', 'running')`,
        finish.state,
        new Date().toISOString(),
        finish.error === null ? null : JSON.stringify(finish.error),
        finish.summary,
        finish.result === null ? 0 : 1,
        JSON.stringify(finish.stepSeconds),
        runId,
      ),
    );
    // Cancelled or deleted in the meantime: the result belongs to nobody.
    if (changed === 0 && finish.result !== null) await this.#results.remove(runId);
  }

  latestRank(planId: string, revision?: number): StoredRun | null {
    const row =
      revision === undefined
        ? this.#db.one<RunRecord>(
            "SELECT * FROM runs WHERE plan_id = ? AND kind = 'rank' AND state = 'done' ORDER BY serial DESC LIMIT 1",
            planId,
          )
        : this.#db.one<RunRecord>(
            `SELECT * FROM runs WHERE plan_id = ? AND kind = 'rank' AND state = 'done' AND plan_revision = ?
             ORDER BY serial DESC LIMIT 1`,
            planId,
            revision,
          );
    return row === undefined ? null : fromRow(row);
  }

  stepTimes(planId: string, kind: RunKind): StoredRun["stepSeconds"] {
    const row = this.#db.one<RunRecord>(
      "SELECT * FROM runs WHERE plan_id = ? AND kind = ? AND state = 'done' ORDER BY serial DESC LIMIT 1",
      planId,
      kind,
    );
    return row === undefined ? null : fromRow(row).stepSeconds;
  }

  /** At start: nothing can be running; what a killed server left half-stored is removed. */
  async recover(): Promise<void> {
    this.#db.write((run) =>
      run(
        "UPDATE runs SET state = 'failed', finished_at = ?, error = ?, summary = ?, has_result = 0 WHERE state = 'running'",
        new Date().toISOString(),
        JSON.stringify(interrupted().body),
        "interrupted by a restart",
      ),
    );
    const kept = new Set(this.#db.all<{ id: string }>("SELECT id FROM runs WHERE has_result = 1").map((row) => row.id));
    for (const id of await readdir(this.#layout.runs)) if (!kept.has(id)) await this.#results.remove(id);
  }
}
