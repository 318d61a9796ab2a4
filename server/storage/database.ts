import { join } from "node:path";
import Libsql from "libsql";
import { HardstandError } from "../../src/errors/index.ts";

type Value = string | number | null;

const SCHEMA_VERSION = 1;
const SCHEMA = `
  CREATE TABLE plans (
    id TEXT PRIMARY KEY, name TEXT NOT NULL, revision INTEGER NOT NULL, updated_at TEXT NOT NULL,
    points INTEGER NOT NULL, parking INTEGER NOT NULL
  ) STRICT;
  CREATE TABLE revisions (
    plan_id TEXT NOT NULL, revision INTEGER NOT NULL, saved_at TEXT NOT NULL, sha256 TEXT NOT NULL,
    PRIMARY KEY (plan_id, revision)
  ) STRICT;
  CREATE TABLE runs (
    id TEXT PRIMARY KEY, plan_id TEXT NOT NULL, plan_revision INTEGER NOT NULL, kind TEXT NOT NULL, args TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('queued', 'running', 'done', 'cancelled', 'failed')),
    created_at TEXT NOT NULL, started_at TEXT, finished_at TEXT, error TEXT, summary TEXT NOT NULL DEFAULT '',
    has_result INTEGER NOT NULL DEFAULT 0, step_seconds TEXT, serial INTEGER NOT NULL
  ) STRICT;
  CREATE INDEX runs_by_plan ON runs (plan_id, serial);
  CREATE INDEX runs_by_state ON runs (state, serial);
  CREATE TABLE health (id INTEGER PRIMARY KEY CHECK (id = 1), beat INTEGER NOT NULL) STRICT;
  INSERT INTO health VALUES (1, 0);
`;

/** A database refusal in our words; anything else passes through. */
export function databaseError(thrown: unknown, path: string): HardstandError {
  if (thrown instanceof HardstandError) return thrown;
  const code = String((thrown as { code?: unknown })?.code ?? "");
  const message = thrown instanceof Error ? thrown.message : String(thrown);
  if (code.startsWith("SQLITE_BUSY") || code.startsWith("SQLITE_LOCKED"))
    return new HardstandError("storage.locked", "another server is using this data folder", {
      where: path,
      received: code,
      hint: "stop the other one, or start this one with a different --data folder",
      cause: thrown,
    });
  if (code.startsWith("SQLITE_CORRUPT") || code.startsWith("SQLITE_NOTADB"))
    return new HardstandError("storage.damaged", "the database file cannot be read", {
      where: path,
      received: code,
      hint: "restore the data folder from a backup",
      cause: thrown,
    });
  if (/^SQLITE_(FULL|IOERR|READONLY|CANTOPEN|PERM)/.test(code))
    return new HardstandError("file.write-failed", "the database could not be written", {
      where: path,
      received: `${code}: ${message}`,
      hint: "check the disk and its free room; what was stored before is untouched",
      cause: thrown,
    });
  return HardstandError.from(thrown);
}

/**
 * The embedded database of one data folder. Opening it takes the folder for this process: the lock is held by an open
 * exclusive transaction in a file of its own, so the system lets go of it however the process ends.
 */
export class Database {
  readonly path: string;
  readonly #db: Libsql.Database;
  readonly #guard: Libsql.Database;
  readonly #statements = new Map<string, Libsql.Statement<Value[]>>();
  /** Called before every transaction; tests make it throw. */
  readonly #beforeWrite: () => void;

  constructor(folder: string, beforeWrite: () => void = () => {}) {
    this.path = join(folder, "hardstand.db");
    this.#beforeWrite = beforeWrite;
    const guardPath = join(folder, "in-use.lock");
    try {
      this.#guard = new Libsql(guardPath, { timeout: 500 } as Libsql.Options);
      this.#guard.exec("BEGIN EXCLUSIVE");
    } catch (thrown) {
      throw databaseError(thrown, folder);
    }
    try {
      this.#db = new Libsql(this.path, { timeout: 5000 } as Libsql.Options);
      this.#db.pragma("journal_mode = WAL");
      this.#db.pragma("synchronous = FULL");
      this.#migrate();
    } catch (thrown) {
      this.#guard.exec("ROLLBACK");
      throw databaseError(thrown, this.path);
    }
  }

  #migrate(): void {
    const [row] = this.#db.pragma("user_version") as { user_version: number }[];
    const version = row?.user_version ?? 0;
    if (version === SCHEMA_VERSION) return;
    if (version > SCHEMA_VERSION)
      throw new HardstandError("storage.damaged", "the data folder was written by a newer version", {
        where: this.path,
        received: version,
        hint: "use the newer version, or another data folder",
      });
    this.#db.exec(`BEGIN IMMEDIATE; ${SCHEMA} PRAGMA user_version = ${SCHEMA_VERSION}; COMMIT;`);
  }

  #statement(sql: string): Libsql.Statement<Value[]> {
    const known = this.#statements.get(sql);
    if (known !== undefined) return known;
    const made = this.#db.prepare<Value[]>(sql);
    this.#statements.set(sql, made);
    return made;
  }

  one<T>(sql: string, ...values: Value[]): T | undefined {
    try {
      return this.#statement(sql).get(...values) as T | undefined;
    } catch (thrown) {
      throw databaseError(thrown, this.path);
    }
  }

  all<T>(sql: string, ...values: Value[]): T[] {
    try {
      return this.#statement(sql).all(...values) as T[];
    } catch (thrown) {
      throw databaseError(thrown, this.path);
    }
  }

  /**
   * Runs several statements as one: all of them hold, or none. The write lock is taken at the start, so that a second
   * writer waits instead of being turned away half-way.
   */
  write<T>(work: (run: (sql: string, ...values: Value[]) => number) => T): T {
    try {
      this.#beforeWrite();
      this.#db.exec("BEGIN IMMEDIATE");
    } catch (thrown) {
      throw databaseError(thrown, this.path);
    }
    try {
      const result = work((sql, ...values) => this.#statement(sql).run(...values).changes);
      this.#db.exec("COMMIT");
      return result;
    } catch (thrown) {
      if (this.#db.inTransaction) this.#db.exec("ROLLBACK");
      throw databaseError(thrown, this.path);
    }
  }

  close(): void {
    if (!this.#db.open) return;
    this.#statements.clear();
    this.#db.close();
    this.#guard.exec("ROLLBACK");
    this.#guard.close();
  }
}
