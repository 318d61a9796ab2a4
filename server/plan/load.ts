import { createHash } from "node:crypto";
import { open } from "node:fs/promises";
import { basename, dirname, resolve } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import { MAX_TEXT } from "../../src/plan/budget.ts";
import { checkPlan } from "../../src/plan/checks/index.ts";
import { type CollectionKind, type CollectionOf, parseCollection, withIds } from "../../src/plan/collection.ts";
import { rasterEntries, sideFiles } from "../../src/plan/files.ts";
import { parsePlan } from "../../src/plan/parse.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import { resolveInside } from "./inside.ts";

export { checkAgainstScene } from "../../src/terrain/check-scene.ts";

/** Reads a text file of limited size and its hash. */
async function readText(path: string, where: string): Promise<{ text: string; sha256: string }> {
  let file: Awaited<ReturnType<typeof open>>;
  try {
    file = await open(path, "r");
  } catch (thrown) {
    const code = (thrown as NodeJS.ErrnoException).code;
    const gone = code === "ENOENT" || code === "ENOTDIR";
    throw new HardstandError(
      gone ? "file.missing" : "file.unreadable",
      gone ? "there is no such file" : "the file cannot be opened",
      {
        where,
        received: path,
        hint: gone ? "check the name and the folder" : String(code),
        cause: thrown,
      },
    );
  }
  try {
    const info = await file.stat();
    if (!info.isFile())
      throw new HardstandError("file.unreadable", "this is not a file", {
        where,
        received: path,
        hint: "name the plan file itself",
      });
    if (info.size > MAX_TEXT)
      throw new HardstandError("plan.too-large", `the file has ${info.size} bytes`, {
        where,
        received: path,
        hint: `at most ${MAX_TEXT}; split or simplify the geometry`,
      });
    const bytes = await file.readFile();
    const sha256 = createHash("sha256").update(bytes).digest("hex");
    try {
      return { text: new TextDecoder("utf-8", { fatal: true }).decode(bytes), sha256 };
    } catch (cause) {
      throw new HardstandError("file.unreadable", "the file is not UTF-8 text", {
        where,
        received: path,
        hint: "save it as UTF-8",
        cause,
      });
    }
  } finally {
    await file.close();
  }
}

const empty = (): { type: "FeatureCollection"; features: [] } => ({ type: "FeatureCollection", features: [] });

/**
 * Reads a plan from disk with the GeoJSON files it names, and checks all that needs no raster.
 * Every feature then bears an id; rasters are only looked for, not opened.
 * @param planPath  the `*.plan.json` file
 * @returns what computation takes; `hashes` holds the plan and each GeoJSON, pattern and horizon file
 * Throws HardstandError with file, path in the plan, value and what is allowed.
 */
export async function loadPlan(planPath: string): Promise<LoadedPlan> {
  const folder = dirname(resolve(planPath));
  const planFile = basename(planPath);
  const { text, sha256 } = await readText(planPath, planPath);
  const plan = parsePlan(text, planFile);
  const hashes: Record<string, string> = { [planFile]: sha256 };

  const collection = async <K extends CollectionKind>(kind: K, path: string, source: string | object | undefined) => {
    if (source === undefined) return withIds(kind, empty() as unknown as CollectionOf<K>);
    if (typeof source !== "string") return withIds(kind, source as CollectionOf<K>);
    const at = await resolveInside(folder, source, `${planFile}: ${path}`);
    const file = await readText(at, `${planFile}: ${path}`);
    hashes[source] = file.sha256;
    return withIds(kind, parseCollection(kind, file.text, source));
  };

  for (const entry of rasterEntries(plan)) await resolveInside(folder, entry.file, `${planFile}: ${entry.path}`);
  for (const { path, file } of sideFiles(plan)) {
    const at = await resolveInside(folder, file, `${planFile}: ${path}`);
    hashes[file] = (await readText(at, `${planFile}: ${path}`)).sha256;
  }
  const loaded: LoadedPlan = {
    plan,
    points: await collection("points", "points", plan.points),
    parking: await collection("parking", "parking", plan.parking),
    hazards: await collection("hazards", "hazards", plan.hazards),
    drops: await collection("drops", "backhaul.drops", plan.backhaul?.drops),
    donors: await collection("donors", "backhaul.donors", plan.backhaul?.donors),
    buildings:
      plan.terrain.buildings === undefined
        ? null
        : await collection("buildings", "terrain.buildings", plan.terrain.buildings),
    hashes,
    warnings: [],
  };
  return { ...loaded, warnings: checkPlan(loaded, planFile) };
}
