import { createHash } from "node:crypto";
import { basename, dirname } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import { buildScene } from "../../src/terrain/build-scene.ts";
import type { RasterHandle } from "../../src/terrain/raster.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import type { Hooks } from "../engine.ts";
import { resolveInside } from "../plan/inside.ts";
import { checkAgainstScene, loadPlan } from "../plan/load.ts";
import { openRaster } from "../raster/index.ts";

type Entry = NonNullable<LoadedPlan["plan"]["terrain"]["ground"]>[number];

async function openAll(
  folder: string,
  kind: "ground" | "surface" | "canopy" | "land-cover",
  entries: readonly Entry[] | undefined,
  hashes: Record<string, string>,
  signal?: AbortSignal,
): Promise<RasterHandle[]> {
  const handles: RasterHandle[] = [];
  for (const [i, entry] of (entries ?? []).entries()) {
    const e = typeof entry === "string" ? { file: entry } : entry;
    const where = `terrain.${kind}[${i}]`;
    const path = await resolveInside(folder, e.file, where);
    try {
      const handle = await openRaster(path, {
        name: e.file,
        use: kind,
        ...("unit" in e && e.unit ? { unit: e.unit } : {}),
        ...("verticalDatum" in e && e.verticalDatum ? { verticalDatum: e.verticalDatum } : {}),
        ...("date" in e && e.date ? { date: e.date } : {}),
        ...("heightSdM" in e && e.heightSdM !== undefined ? { heightSdM: e.heightSdM } : {}),
        ...(signal ? { signal } : {}),
      });
      hashes[e.file] = handle.sha256;
      handles.push(handle);
    } catch (error) {
      const he = HardstandError.from(error);
      throw new HardstandError(he.code, he.message, {
        where: `${where}: ${e.file}`,
        received: he.body.received,
        hint: he.body.hint,
        cause: error,
      });
    }
  }
  return handles;
}

/** Opens a plan's rasters and builds its scene; checks what can only be checked on the ground. */
export async function openScene(loaded: LoadedPlan, folder: string, hooks: Hooks): Promise<Scene> {
  const { terrain } = loaded.plan;
  const report = (done: number): void =>
    hooks.onProgress?.({ step: "Reading the ground", stepIndex: 0, stepCount: 5, done, total: 4 });
  report(0);
  const ground = await openAll(folder, "ground", terrain.ground, loaded.hashes, hooks.signal);
  report(1);
  const surface = await openAll(folder, "surface", terrain.surface, loaded.hashes, hooks.signal);
  report(2);
  const canopy = await openAll(folder, "canopy", terrain.canopy, loaded.hashes, hooks.signal);
  const landCover = await openAll(folder, "land-cover", terrain.landCover?.files, loaded.hashes, hooks.signal);
  report(3);
  const scene = await buildScene(
    loaded,
    { ground, surface, canopy, landCover },
    hooks.signal ? { signal: hooks.signal } : {},
  );
  loaded.warnings.push(
    ...checkAgainstScene(loaded, scene).filter(
      (w) => !loaded.warnings.some((k) => k.code === w.code && k.text === w.text),
    ),
  );
  report(4);
  return scene;
}

const scenes = new Map<string, Promise<Scene>>();
const MAX_SCENES = 3;

/** What makes two plans share a scene: everything but search settings and names. */
function sceneKey(loaded: LoadedPlan, folder: string): string {
  const { terrain, season, date } = loaded.plan;
  return createHash("sha256")
    .update(
      JSON.stringify({
        folder,
        terrain,
        season,
        date,
        hashes: loaded.hashes,
        points: loaded.points,
        parking: loaded.parking,
        hazards: loaded.hazards,
        drops: loaded.drops,
        donors: loaded.donors,
      }),
    )
    .digest("hex");
}

/** The scene of a plan, built once per content and kept for the next question. */
export function cachedScene(loaded: LoadedPlan, folder: string, hooks: Hooks): Promise<Scene> {
  const key = sceneKey(loaded, folder);
  const known = scenes.get(key);
  if (known) return known;
  const made = openScene(loaded, folder, hooks);
  scenes.set(key, made);
  made.catch(() => scenes.delete(key));
  while (scenes.size > MAX_SCENES) scenes.delete(scenes.keys().next().value!);
  return made;
}

/** Reads a plan file and its scene: what every command with a plan starts with. */
export async function openPlan(
  planPath: string,
  hooks: Hooks,
): Promise<{ loaded: LoadedPlan; scene: Scene; folder: string }> {
  const loaded = await loadPlan(planPath);
  const folder = dirname(planPath);
  return { loaded, scene: await cachedScene(loaded, folder, hooks), folder };
}

export const planFileOf = (path: string): { folder: string; file: string } => ({
  folder: dirname(path),
  file: basename(path),
});
