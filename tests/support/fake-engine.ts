import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import type { Engine, Hooks, RankResult, SuitabilitySurface } from "../../server/engine.ts";
import { REASON_UNKNOWN } from "../../server/engine.ts";
import { cancelled, HardstandError } from "../../src/errors/index.ts";
import type { LngLat, LocalFrame } from "../../src/geodesy/types.ts";
import { namesGround, parseDraft } from "../../src/plan/draft.ts";
import { REJECT_REASONS } from "../../src/plan/outputs/index.ts";
import type { CellAnswer, CoverAnswer, PathAnswer, RankAnswer, SkyAnswer, Spot } from "../../src/plan/outputs/types.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import { type Grid, nearestCell, type Scene } from "../../src/terrain/scene.ts";

export const ORIGIN: LngLat = { lng: -93.62, lat: 42.03 };
const R = 6_371_000;
const DEG = Math.PI / 180;

/** A plain equirectangular frame: exact in both directions, which is all these tests need. */
export function fakeFrame(origin: LngLat): LocalFrame {
  const east = R * DEG * Math.cos(origin.lat * DEG);
  const north = R * DEG;
  return {
    origin,
    toXY: (p) => ({ xM: (p.lng - origin.lng) * east, yM: (p.lat - origin.lat) * north }),
    toLngLat: (p) => ({ lng: origin.lng + p.xM / east, lat: origin.lat + p.yM / north }),
    convergenceDeg: () => 0,
  };
}

/** 60 × 50 cells of 4 m, not square and not centred, so that swapped axes and offsets show. */
export const GRID: Grid = { westM: -100, northM: 120, cellM: 4, cols: 60, rows: 50 };

export function fakeScene(): Scene {
  const n = GRID.cols * GRID.rows;
  // Shared memory, as threads of a real engine share it.
  const shared = () => new Float32Array(new SharedArrayBuffer(4 * n));
  const ground = shared();
  const surface = shared();
  const canopy = shared();
  for (let row = 0; row < GRID.rows; row++)
    for (let col = 0; col < GRID.cols; col++) {
      const i = row * GRID.cols + col;
      ground[i] = 300 + 0.25 * col + 4 * Math.sin(row / 9);
      if (row >= 40 && col < 6) ground[i] = Number.NaN;
      canopy[i] = col >= 45 && col < 52 && row >= 5 && row < 25 ? 9 : 0;
      surface[i] = ground[i]! + canopy[i]! + (col >= 20 && col < 26 && row >= 30 && row < 34 ? 12 : 0);
    }
  return {
    frame: fakeFrame(ORIGIN),
    grid: GRID,
    groundM: ground,
    surfaceM: surface,
    bareSurfaceM: surface,
    canopyM: canopy,
    buildings: [],
    buildingAt: null,
    groundEstimated: false,
    groundPostingM: 4,
    hasSurface: true,
    farField: null,
    warnings: [{ code: "scene.invented", text: "An invented piece of ground." }],
  };
}

/** Parking in columns 10–29, rows 8–27: score grows eastward, each reason strikes out one row, one row unknown. */
export function fakeSurface(): SuitabilitySurface {
  const scorePct = new Float32Array(GRID.cols * GRID.rows).fill(Number.NaN);
  const reason = new Uint8Array(GRID.cols * GRID.rows);
  for (let row = 8; row < 28; row++)
    for (let col = 10; col < 30; col++) {
      const i = row * GRID.cols + col;
      if (row < 8 + REJECT_REASONS.length) reason[i] = row - 8 + 1;
      else if (row === 20) reason[i] = REASON_UNKNOWN;
      else scorePct[i] = 70 + (col - 10) * 1.5;
    }
  return { grid: GRID, scorePct, reason };
}

export interface FakeEngine extends Engine {
  calls: string[];
  /** Steps a ranking takes and how long each count takes, ms. */
  pace: { steps: number; counts: number; countMs: number };
  /** When set, ranking never ends until its signal is aborted, and then only after this many ms. */
  stubbornMs: number | null;
  failWith: HardstandError | null;
  /** Hand out a partial ranking after the first step. */
  partial: boolean;
  sceneMs: number;
  running: number;
  mostRunning: number;
}

const sleep = (ms: number, signal?: AbortSignal): Promise<void> =>
  new Promise((resolve, reject) => {
    if (signal?.aborted) return reject(cancelled("the work"));
    const timer = setTimeout(() => {
      signal?.removeEventListener("abort", stop);
      resolve();
    }, ms);
    const stop = () => {
      clearTimeout(timer);
      reject(cancelled("the work"));
    };
    signal?.addEventListener("abort", stop, { once: true });
  });

const provenance = {
  version: "0.0.0-test",
  date: "2026-09-12",
  seed: 1,
  files: {},
  models: [{ id: "p526", edition: "16" }],
};

export function fakeSpot(place: LngLat, rank = 1): Spot {
  return {
    rank,
    id: `s${rank}`,
    name: "East row",
    role: rank === 1 ? "primary" : "alternate",
    ...place,
    usng: "15T VG 48700 53200",
    groundAmslM: 305.2,
    headingDeg: null,
    parking: "rows",
    score: 98.5,
    screenedScore: 98,
    feasible: true,
    tied: false,
    decidedBy: "first",
    mustsShort: 0,
    mustsUnknown: 0,
    mustShortDb: 0,
    checks: [{ id: "slope", status: "pass", value: 1.2, limit: 5, unit: "°", text: "level enough", source: "plan" }],
    points: [],
    satellites: [],
    backhaul: [{ kind: "none", status: "unknown", text: "no way back is listed" }],
    reasons: ["First on score."],
    stabilityPct: 86,
  };
}

const rankAnswer = (name: string): RankAnswer => ({
  plan: name,
  spots: [fakeSpot({ lng: ORIGIN.lng, lat: ORIGIN.lat })],
  feasibleCount: 1,
  parking: { totalHectares: 0.64, usableHectares: 0.32, cells: 400, cellM: 4 },
  rejected: REJECT_REASONS.map((reason) => ({ reason, hectares: 0.032 })),
  nearestMisses: [],
  screening: { deltaScore: 0.4, refinedCells: 12, sweeps: 4, direction: "from-points" },
  warnings: [],
  cautions: ["Prediction, not a promise."],
  provenance,
});

const MODES = { loss: "dB", level: "dBm", probability: "share 0 to 1", visible: "" } as const;

export function createFakeEngine(): FakeEngine {
  const scene = fakeScene();
  const engine: FakeEngine = {
    calls: [],
    pace: { steps: 3, counts: 4, countMs: 1 },
    stubbornMs: null,
    failWith: null,
    partial: false,
    sceneMs: 0,
    running: 0,
    mostRunning: 0,
    async load(planDir, planFile) {
      engine.calls.push(`load ${planFile}`);
      const text = readFileSync(join(planDir, planFile), "utf8");
      const plan = parseDraft(JSON.parse(text));
      if (!namesGround(plan))
        throw new HardstandError("plan.invalid", "at least one ground or surface raster is needed", {
          where: "terrain.ground",
        });
      const inline = <T>(part: T | string | undefined, empty: T): T =>
        part === undefined
          ? empty
          : typeof part === "string"
            ? (JSON.parse(readFileSync(join(planDir, part), "utf8")) as T)
            : part;
      const none = { type: "FeatureCollection" as const, features: [] };
      return {
        plan,
        points: inline(plan.points, none) as LoadedPlan["points"],
        parking: inline(plan.parking, none) as LoadedPlan["parking"],
        hazards: inline(plan.hazards, none) as LoadedPlan["hazards"],
        drops: none,
        donors: none,
        buildings: null,
        hashes: { [planFile]: createHash("sha256").update(text).digest("hex") },
        warnings: [],
      };
    },
    async scene(_loaded, hooks) {
      engine.calls.push("scene");
      hooks.onProgress?.({ step: "Reading the ground", stepIndex: 0, stepCount: 1, done: 0, total: 1 });
      if (engine.sceneMs > 0) await sleep(engine.sceneMs, hooks.signal);
      return scene;
    },
    async rank(loaded, _scene, hooks): Promise<RankResult> {
      engine.calls.push("rank");
      engine.running++;
      engine.mostRunning = Math.max(engine.mostRunning, engine.running);
      try {
        const result = { answer: rankAnswer(loaded.plan.name), surface: fakeSurface() };
        if (engine.failWith !== null) throw engine.failWith;
        const { steps, counts, countMs } = engine.pace;
        for (let s = 0; s < steps; s++) {
          for (let c = 0; c <= counts; c++) {
            hooks.onProgress?.({ step: `Step ${s + 1}`, stepIndex: s, stepCount: steps, done: c, total: counts });
            if (c < counts) await sleep(countMs, hooks.signal);
          }
          if (s === 0 && engine.partial) hooks.onPartial?.(result);
        }
        if (engine.stubbornMs !== null) {
          await new Promise<void>((resolve) =>
            hooks.signal?.addEventListener("abort", () => resolve(), { once: true }),
          );
          await sleep(engine.stubbornMs);
        }
        return result;
      } finally {
        engine.running--;
      }
    },
    async cover(_loaded, _scene, args) {
      engine.calls.push(`cover ${args.what}`);
      const values = new Float32Array(GRID.cols * GRID.rows);
      for (let row = 0; row < GRID.rows; row++)
        for (let col = 0; col < GRID.cols; col++) {
          const share = col / (GRID.cols - 1);
          const byWhat = { loss: 80 + 60 * share, level: -60 - 70 * share, probability: share, visible: col % 2 };
          values[row * GRID.cols + col] = row < 5 ? Number.NaN : byWhat[args.what];
        }
      const answer: CoverAnswer = {
        what: args.what,
        service: args.service,
        need: args.need ?? null,
        lng: args.lng,
        lat: args.lat,
        radiusM: args.radiusM ?? 1000,
        cellM: GRID.cellM,
        cols: GRID.cols,
        rows: GRID.rows,
        unit: MODES[args.what],
        min: 0,
        max: 100,
        mean: 50,
        knownShare: 0.9,
        areas: [],
        file: null,
        warnings: [],
        provenance,
      };
      return { answer, values, grid: GRID };
    },
    async cell(_loaded, s, surface, place, full, hooks: Hooks): Promise<CellAnswer> {
      engine.calls.push(`cell ${full ? "full" : "brief"} ${surface === null ? "bare" : "surface"}`);
      if (full) await sleep(engine.pace.countMs, hooks.signal);
      const at = nearestCell(s.grid, s.frame.toXY(place));
      const score = at === null || surface === null ? Number.NaN : surface.scorePct[at.index]!;
      const reason = at === null || surface === null ? 0 : surface.reason[at.index]!;
      return {
        ...place,
        usng: "15T VG 48700 53200",
        inParking: reason > 0 || !Number.isNaN(score),
        screenedScore: Number.isNaN(score) ? null : score,
        reason: reason > 0 && reason !== REASON_UNKNOWN ? REJECT_REASONS[reason - 1]! : null,
        reasonText: "",
        spot: full ? fakeSpot(place) : null,
      };
    },
    async sky(_loaded, _scene, place, heightM): Promise<SkyAnswer> {
      engine.calls.push("sky");
      return {
        ...place,
        groundAmslM: 300,
        eyeHeightM: heightM ?? 1.6,
        eyeAmslM: 301.6,
        onBuilding: null,
        declinationDeg: 0.4,
        declinationModel: "WMM2025",
        date: "2026-09-12",
        k: 4 / 3,
        satellites: [],
        horizon: [],
        arc: [],
        cautions: [],
        warnings: [],
      };
    },
    look(_loaded, _place, heightM) {
      engine.calls.push("look");
      return [
        {
          satelliteDeg: -97,
          azimuthDeg: 185.1,
          azimuthMagneticDeg: 184.7,
          declinationDeg: 0.4,
          elevationDeg: 41.2 + heightM * 0,
          elevationRefractedDeg: 41.22,
          skewDeg: -3.4,
          rangeKm: 37_600,
          delayMs: 125.4,
          visible: true,
        },
      ];
    },
    async path(_loaded, _scene, from, to, serviceId): Promise<PathAnswer> {
      engine.calls.push("path");
      if (serviceId === "none")
        throw new HardstandError("plan.unknown-reference", "the plan has no such service", {
          where: "service",
          received: serviceId,
        });
      const end = (p: LngLat) => ({ ...p, groundAmslM: 300, antennaAmslM: 306, heightM: 6 });
      return {
        from: end(from),
        to: end(to),
        service: serviceId,
        terminal: "phone",
        frequencyMHz: 763,
        distanceM: 100,
        bearingDeg: 90,
        k: 4 / 3,
        distancesM: [0, 100],
        groundM: [300, null],
        surfaceM: [300, null],
        canopyTopM: [null, null],
        lineM: [306, 306],
        fresnelRadiusM: [0, 0],
        clearanceM: [6, null],
        lineOfSight: null,
        fresnelRatio: null,
        unknownShare: 0.5,
        firstObstruction: null,
        worstObstruction: null,
        model: "p526",
        lossDb: null,
        parts: {},
        vegetation: null,
        secondOpinion: null,
        twoRayLossDb: null,
        budgets: [],
        warnings: [],
      };
    },
    frame: fakeFrame,
    models: () => [
      {
        id: "p525",
        title: "Free space",
        edition: "4",
        source: "Rec. ITU-R P.525-4",
        validity: "any",
        verified: "examples",
        tolerance: "0.01 dB",
      },
    ],
  };
  return engine;
}
