import { join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import { createLocalFrame, declination, toUsng } from "../../src/geodesy/index.ts";
import type { LngLat } from "../../src/geodesy/types.ts";
import { coverage } from "../../src/placement/cover.ts";
import {
  examineSpot,
  makeScenario,
  pathAnswer,
  rank,
  type Scenario,
  spotAnswer,
  whenOf,
} from "../../src/placement/index.ts";
import { REJECT_REASONS } from "../../src/plan/outputs/rank.ts";
import type { CellAnswer } from "../../src/plan/outputs/types.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import { dishSettings, lookAngles, skyFromSpot } from "../../src/satellite/index.ts";
import { nearestCell, type Scene } from "../../src/terrain/scene.ts";
import { today } from "../cli/date.ts";
import { type Engine, type Hooks, REASON_UNKNOWN, type SuitabilitySurface } from "../engine.ts";
import { loadPlan } from "../plan/load.ts";
import { createPool, type Pool } from "../workers/index.ts";
import { packContext } from "../workers/plan-context.ts";
import { modelRows } from "./models.ts";
import { cachedScene } from "./open-scene.ts";
import { poolExecutor } from "./pool-executor.ts";
import { provenanceOf } from "./provenance.ts";

export interface EngineOptions {
  /** Worker threads; default one per core. */
  threads?: number;
}

/** Folder of each loaded plan, so that its rasters are found without the plan knowing where it lies. */
const folders = new WeakMap<LoadedPlan, string>();

const standText = (reason: string): string => `Struck out by ${reason}; open the cell for the number and the limit.`;

/** The computing side for the service and the command line. */
export function createEngine(options: EngineOptions = {}): Engine {
  let pool: Pool | null = null;
  // Threads start with the first run: quick questions need none.
  const threads = (): Pool => {
    pool ??= createPool(options.threads === undefined ? {} : { threads: options.threads });
    return pool;
  };
  const scenarioOf = (loaded: LoadedPlan, scene: Scene): Scenario => makeScenario(loaded, scene);

  return {
    async load(planDir, planFile) {
      const loaded = await loadPlan(join(planDir, planFile));
      folders.set(loaded, planDir);
      return loaded;
    },
    async scene(loaded, hooks) {
      const folder = folders.get(loaded);
      if (folder === undefined) throw new HardstandError("internal", "this plan was not loaded by the engine");
      return cachedScene(loaded, folder, hooks);
    },
    async rank(loaded, scene, hooks) {
      const s = scenarioOf(loaded, scene);
      const when = whenOf(s, today());
      const result = await rank(s, {
        executor: poolExecutor(threads(), packContext(loaded, scene)),
        when,
        provenance: provenanceOf(loaded, when.date),
        hooks: cleanHooks(hooks),
      });
      return { answer: result.answer, surface: result.surface };
    },
    async cover(loaded, scene, args, hooks) {
      const s = scenarioOf(loaded, scene);
      hooks.onProgress?.({ step: "Sweeping", stepIndex: 0, stepCount: 1, done: 0, total: 1 });
      const found = coverage(s, {
        place: { lng: args.lng, lat: args.lat },
        serviceId: args.service,
        what: args.what,
        ...(args.need ? { needId: args.need } : {}),
        ...(args.terminal ? { terminalId: args.terminal } : {}),
        ...(args.radiusM ? { radiusM: args.radiusM } : {}),
      });
      hooks.onProgress?.({ step: "Sweeping", stepIndex: 0, stepCount: 1, done: 1, total: 1 });
      return { ...found, answer: { ...found.answer, provenance: provenanceOf(loaded, whenOf(s, today()).date) } };
    },
    async cell(loaded, scene, surface, place, full, _hooks): Promise<CellAnswer> {
      return cellAnswer(scenarioOf(loaded, scene), surface, place, full);
    },
    async sky(loaded, scene, place, heightM, roofId) {
      const { plan } = loaded;
      if (!plan.unit.dish)
        throw new HardstandError("plan.invalid", "the plan's unit has no dish", {
          where: "unit.dish",
          hint: "add a dish to the unit",
        });
      const dish = dishSettings(plan.unit.dish);
      const building = roofId === undefined ? undefined : scene.buildings.find((b) => b.id === roofId);
      if (roofId !== undefined && !building)
        throw new HardstandError("plan.unknown-reference", "there is no such building", {
          where: "roof",
          received: roofId,
          hint: "name a building id of the plan",
        });
      const when = whenOf({ loaded, scene }, today());
      return skyFromSpot(
        scene,
        {
          place,
          ...(heightM === undefined ? {} : { eyeHeightM: heightM }),
          ...(building ? { onBuilding: building.id } : {}),
        },
        dish,
        plan.satellites ?? [],
        when,
      );
    },
    look(loaded, place, heightM) {
      const date = new Date(`${loaded.plan.date ?? today()}T12:00:00Z`);
      const d = declination(place, heightM / 1000, date);
      return (loaded.plan.satellites ?? []).map((v) =>
        lookAngles({ ...place, heightM }, v.longitudeDeg, d.declinationDeg),
      );
    },
    async path(loaded, scene, from, to, serviceId, pointId) {
      return pathAnswer(scenarioOf(loaded, scene), {
        from,
        to,
        serviceId,
        ...(pointId === undefined ? {} : { pointId }),
      });
    },
    frame: createLocalFrame,
    models: modelRows,
    async close() {
      await pool?.close();
      pool = null;
    },
  };
}

const cleanHooks = (hooks: Hooks): { onProgress?: NonNullable<Hooks["onProgress"]>; signal?: AbortSignal } => ({
  ...(hooks.onProgress ? { onProgress: (p) => hooks.onProgress!(p) } : {}),
  ...(hooks.signal ? { signal: hooks.signal } : {}),
});

function cellAnswer(s: Scenario, surface: SuitabilitySurface | null, place: LngLat, full: boolean): CellAnswer {
  const at = s.scene.frame.toXY(place);
  const cell = nearestCell(s.scene.grid, at);
  if (!cell)
    throw new HardstandError("plan.geometry-outside", "the place lies outside the ground that is known", {
      where: "lng, lat",
      received: place,
      hint: "choose a place inside the rasters",
    });
  const score = surface?.scorePct[cell.index] ?? Number.NaN;
  const code = surface?.reason[cell.index] ?? 0;
  const reason = code > 0 && code !== REASON_UNKNOWN ? (REJECT_REASONS[code - 1] ?? null) : null;
  const inParking = s.parking.some((a) => a.polygons.length > 0) && (code !== 0 || Number.isFinite(score));
  const spot = full
    ? spotAnswer(s, examineSpot(s, at, whenOf(s, today()), { cell: cell.index, screenedScore: score }), {
        rank: 0,
        role: "none",
        name: "Trial spot",
        tied: false,
        decidedBy: "first",
        reasons: [],
        stabilityPct: null,
        topThreePct: null,
        scoreRange: null,
      })
    : null;
  const failing = spot?.checks.filter((c) => c.status === "fail").map((c) => c.text) ?? [];
  return {
    lng: place.lng,
    lat: place.lat,
    usng: toUsng(place, 5),
    inParking,
    screenedScore: Number.isFinite(score) ? score : null,
    reason,
    reasonText:
      failing.length > 0
        ? failing.join(" ")
        : code === REASON_UNKNOWN
          ? "Unknown: there is no ground data here."
          : reason
            ? standText(reason)
            : "",
    spot: spot && !Number.isFinite(spot.screenedScore) ? { ...spot, screenedScore: spot.score } : spot,
  };
}
