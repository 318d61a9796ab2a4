import { createHash } from "node:crypto";
import { readdir, readFile, stat } from "node:fs/promises";
import { join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import type { DraftPlan } from "../../src/plan/draft.ts";
import { parseDraft } from "../../src/plan/draft.ts";
import type { FileRow, PlanRow, RevisionRow } from "../../src/plan/http.ts";
import type { Database } from "./database.ts";
import { type Disk, syncFolder, writeError, writeWhole } from "./disk.ts";
import type { KeyedLock } from "./keyed-lock.ts";
import { CURRENT_PLAN, isId, isPlanFile, type Layout, newId, notFound, revisionFile } from "./layout.ts";
import type { PlanPlace, StoredPlan } from "./types.ts";

interface PlanRecord {
  id: string;
  name: string;
  revision: number;
  updated_at: string;
  points: number;
  parking: number;
}

const text = (plan: DraftPlan): string => `${JSON.stringify(plan, null, 2)}\n`;
const sha256 = (data: string): string => createHash("sha256").update(data).digest("hex");

/** Number of features, or of those in the file a plan names; 0 when that cannot be read. */
async function countFeatures(folder: string, part: DraftPlan["points"] | DraftPlan["parking"]): Promise<number> {
  if (typeof part !== "string") return part.features.length;
  try {
    if (part.includes("..") || part.startsWith("/")) return 0;
    const parsed = JSON.parse(await readFile(join(folder, part), "utf8")) as { features?: unknown[] };
    return Array.isArray(parsed.features) ? parsed.features.length : 0;
  } catch {
    return 0;
  }
}

/**
 * Plans: a folder each, with every revision as a file of its own that is never written again, and a row that says which
 * revision holds. A save writes the new file first and moves the row second; until then the old revision is the plan.
 */
export class Plans {
  readonly #db: Database;
  readonly #disk: Disk;
  readonly #layout: Layout;
  readonly #lock: KeyedLock;

  constructor(db: Database, disk: Disk, layout: Layout, lock: KeyedLock) {
    this.#db = db;
    this.#disk = disk;
    this.#layout = layout;
    this.#lock = lock;
  }

  #row(id: string): PlanRecord {
    const row = isId(id) ? this.#db.one<PlanRecord>("SELECT * FROM plans WHERE id = ?", id) : undefined;
    if (row === undefined) throw notFound("plan", id);
    return row;
  }

  list(): PlanRow[] {
    return this.#db.all<PlanRecord>("SELECT * FROM plans ORDER BY updated_at DESC, id").map((row) => ({
      id: row.id,
      name: row.name,
      revision: row.revision,
      updatedAt: row.updated_at,
      points: row.points,
      parkingAreas: row.parking,
    }));
  }

  /**
   * Makes a plan whole in a passing folder, then moves the folder into place.
   * @param fill  puts the files that belong to the plan into the new folder
   */
  async create(plan: DraftPlan, fill: (folder: string) => Promise<void> = async () => {}) {
    const id = newId();
    const making = join(this.#layout.passing, id);
    try {
      await this.#disk.mkdir(making);
      await fill(making);
      await writeWhole(this.#disk, join(making, revisionFile(1)), text(plan));
      await writeWhole(this.#disk, join(making, CURRENT_PLAN), text(plan));
      const counts = await this.#counts(making, plan);
      await this.#disk.rename(making, this.#layout.plan(id));
      await syncFolder(this.#disk, this.#layout.plans);
      try {
        this.#insert(id, plan, 1, counts);
      } catch (thrown) {
        // Without its row the folder would come back as a plan at the next start.
        await this.#disk.rename(this.#layout.plan(id), join(this.#layout.discarded, id));
        throw thrown;
      }
      return { id, revision: 1 };
    } catch (thrown) {
      await this.#disk.remove(making).catch(() => {});
      throw writeError(thrown, this.#layout.plan(id));
    }
  }

  #insert(id: string, plan: DraftPlan, revision: number, counts: { points: number; parking: number }): void {
    const now = new Date().toISOString();
    this.#db.write((run) => {
      run(
        "INSERT INTO plans (id, name, revision, updated_at, points, parking) VALUES (?, ?, ?, ?, ?, ?)",
        id,
        plan.name,
        revision,
        now,
        counts.points,
        counts.parking,
      );
      run(
        "INSERT INTO revisions (plan_id, revision, saved_at, sha256) VALUES (?, ?, ?, ?)",
        id,
        revision,
        now,
        sha256(text(plan)),
      );
    });
  }

  async #counts(folder: string, plan: DraftPlan): Promise<{ points: number; parking: number }> {
    return { points: await countFeatures(folder, plan.points), parking: await countFeatures(folder, plan.parking) };
  }

  async #read(id: string, revision: number): Promise<DraftPlan> {
    const path = join(this.#layout.plan(id), revisionFile(revision));
    try {
      return JSON.parse(await readFile(path, "utf8")) as DraftPlan;
    } catch (thrown) {
      throw new HardstandError("storage.damaged", "a stored plan cannot be read", {
        where: path,
        hint: "restore the data folder from a backup",
        cause: thrown,
      });
    }
  }

  async get(id: string): Promise<StoredPlan> {
    const row = this.#row(id);
    return { id, revision: row.revision, updatedAt: row.updated_at, plan: await this.#read(id, row.revision) };
  }

  place(id: string, revision: number): PlanPlace {
    this.#revisionRow(id, revision);
    return { folder: this.#layout.plan(id), file: revisionFile(revision) };
  }

  #revisionRow(id: string, revision: number): RevisionRow {
    this.#row(id);
    const row = this.#db.one<{ saved_at: string; sha256: string }>(
      "SELECT saved_at, sha256 FROM revisions WHERE plan_id = ? AND revision = ?",
      id,
      revision,
    );
    if (row === undefined) throw notFound("revision", String(revision));
    return { revision, savedAt: row.saved_at, sha256: row.sha256 };
  }

  revisions(id: string): RevisionRow[] {
    this.#row(id);
    return this.#db
      .all<{ revision: number; saved_at: string; sha256: string }>(
        "SELECT revision, saved_at, sha256 FROM revisions WHERE plan_id = ? ORDER BY revision DESC",
        id,
      )
      .map((row) => ({ revision: row.revision, savedAt: row.saved_at, sha256: row.sha256 }));
  }

  async revision(id: string, revision: number): Promise<{ revision: number; savedAt: string; plan: DraftPlan }> {
    const { savedAt } = this.#revisionRow(id, revision);
    return { revision, savedAt, plan: await this.#read(id, revision) };
  }

  /** Saves over the expected revision. */
  save(id: string, expected: number, plan: DraftPlan): Promise<number> {
    return this.#lock.run(id, () => this.saveHeld(id, expected, plan));
  }

  /** The same for a caller that holds the plan's lock; `expected` null saves over whatever is there. */
  async saveHeld(id: string, expected: number | null, plan: DraftPlan | null): Promise<number> {
    const row = this.#row(id);
    if (expected !== null && row.revision !== expected)
      throw new HardstandError("http.conflict", "the plan was changed by somebody else in the meantime", {
        where: "If-Match",
        received: `revision ${expected}; the plan is at revision ${row.revision}`,
        hint: "load the plan again and repeat the change",
      });
    const content = plan ?? (await this.#read(id, row.revision));
    const revision = row.revision + 1;
    const folder = this.#layout.plan(id);
    await writeWhole(this.#disk, join(folder, revisionFile(revision)), text(content));
    const counts = await this.#counts(folder, content);
    const now = new Date().toISOString();
    this.#db.write((run) => {
      run(
        "UPDATE plans SET name = ?, revision = ?, updated_at = ?, points = ?, parking = ? WHERE id = ?",
        content.name,
        revision,
        now,
        counts.points,
        counts.parking,
        id,
      );
      run(
        "INSERT INTO revisions (plan_id, revision, saved_at, sha256) VALUES (?, ?, ?, ?)",
        id,
        revision,
        now,
        sha256(text(content)),
      );
    });
    // The row has moved: the plan is saved. The copy for people who look into the folder is mended at the next start
    // if it cannot be written now.
    await writeWhole(this.#disk, join(folder, CURRENT_PLAN), text(content)).catch(() => {});
    return revision;
  }

  remove(id: string): Promise<void> {
    return this.#lock.run(id, async () => {
      this.#row(id);
      const runs = this.#db.all<{ id: string }>("SELECT id FROM runs WHERE plan_id = ?", id);
      const gone = join(this.#layout.discarded, id);
      try {
        await this.#disk.rename(this.#layout.plan(id), gone);
        await syncFolder(this.#disk, this.#layout.plans);
      } catch (thrown) {
        if ((thrown as NodeJS.ErrnoException).code !== "ENOENT") throw writeError(thrown, this.#layout.plan(id));
      }
      this.#db.write((run) => {
        run("DELETE FROM runs WHERE plan_id = ?", id);
        run("DELETE FROM revisions WHERE plan_id = ?", id);
        run("DELETE FROM plans WHERE id = ?", id);
      });
      // Whatever cannot be removed now is removed at the next start.
      await this.#disk.remove(gone).catch(() => {});
      for (const each of runs) await this.#disk.remove(this.#layout.run(each.id)).catch(() => {});
    });
  }

  /** Files beside the plan, without the plan's own. */
  async files(id: string): Promise<FileRow[]> {
    this.#row(id);
    const folder = this.#layout.plan(id);
    const rows: FileRow[] = [];
    for (const entry of await readdir(folder, { withFileTypes: true, recursive: true })) {
      if (!entry.isFile() || entry.name.startsWith(".") || (entry.parentPath === folder && isPlanFile(entry.name)))
        continue;
      const path = join(entry.parentPath, entry.name);
      const info = await stat(path);
      rows.push({
        name: path.slice(folder.length + 1),
        bytes: info.size,
        modifiedAt: info.mtime.toISOString(),
      });
    }
    return rows.sort((a, b) => (a.name < b.name ? -1 : 1));
  }

  /** At start: finishes removals, mends copies, takes in plan folders that have no row. */
  async recover(): Promise<void> {
    for (const id of await readdir(this.#layout.discarded)) {
      if (this.#db.one("SELECT id FROM plans WHERE id = ?", id) !== undefined)
        this.#db.write((run) => {
          run("DELETE FROM runs WHERE plan_id = ?", id);
          run("DELETE FROM revisions WHERE plan_id = ?", id);
          run("DELETE FROM plans WHERE id = ?", id);
        });
      await this.#disk.remove(join(this.#layout.discarded, id));
    }
    for (const id of await readdir(this.#layout.plans)) {
      if (!isId(id)) continue;
      const row = this.#db.one<PlanRecord>("SELECT * FROM plans WHERE id = ?", id);
      if (row === undefined) await this.#adopt(id);
      else await this.#mend(id, row.revision);
    }
  }

  async #mend(id: string, revision: number): Promise<void> {
    const folder = this.#layout.plan(id);
    const whole = await readFile(join(folder, revisionFile(revision)), "utf8").catch(() => null);
    const copy = await readFile(join(folder, CURRENT_PLAN), "utf8").catch(() => null);
    if (whole !== null && whole !== copy) await writeWhole(this.#disk, join(folder, CURRENT_PLAN), whole);
  }

  async #adopt(id: string): Promise<void> {
    const folder = this.#layout.plan(id);
    try {
      const plan = parseDraft(JSON.parse(await readFile(join(folder, CURRENT_PLAN), "utf8")));
      await writeWhole(this.#disk, join(folder, revisionFile(1)), text(plan));
      this.#insert(id, plan, 1, await this.#counts(folder, plan));
    } catch {
      // Not a plan of ours: left alone, neither shown nor removed.
    }
  }
}
