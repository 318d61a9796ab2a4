import { createLocalFrame } from "../../src/geodesy/index.ts";
import type { LngLat } from "../../src/geodesy/types.ts";
import { makeScenario, type Scenario } from "../../src/placement/index.ts";
import { type SweepWorkspace, sweepWorkspace } from "../../src/placement/screen-sweep.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import type { Scene } from "../../src/terrain/scene.ts";

/**
 * A plan and its scene as they travel to worker threads: heights in shared memory, everything else as JSON bytes in
 * shared memory that each thread reads once.
 */
export interface PlanContext {
  key: string;
  text: Uint8Array;
  arrays: {
    groundM: Float32Array;
    surfaceM: Float32Array;
    bareSurfaceM: Float32Array;
    canopyM: Float32Array | null;
    buildingAt: Uint16Array | null;
    farM: Float32Array | null;
  };
}

interface ContextText {
  loaded: LoadedPlan;
  origin: LngLat;
  scene: Omit<Scene, "frame" | "groundM" | "surfaceM" | "bareSurfaceM" | "canopyM" | "buildingAt" | "farField">;
  farGrid: NonNullable<Scene["farField"]>["grid"] | null;
}

let serial = 0;

function shared<T extends Float32Array | Uint16Array>(array: T): T {
  if (array.buffer instanceof SharedArrayBuffer) return array;
  const copy = new (array.constructor as new (b: SharedArrayBuffer) => T)(new SharedArrayBuffer(array.byteLength));
  copy.set(array as never);
  return copy;
}

/** Packs a plan and its scene once per run. */
export function packContext(loaded: LoadedPlan, scene: Scene): PlanContext {
  const { frame, groundM, surfaceM, bareSurfaceM, canopyM, buildingAt, farField, ...rest } = scene;
  const text: ContextText = { loaded, origin: frame.origin, scene: rest, farGrid: farField?.grid ?? null };
  const json = new TextEncoder().encode(JSON.stringify(text));
  const bytes = new Uint8Array(new SharedArrayBuffer(json.byteLength));
  bytes.set(json);
  const ground = shared(groundM);
  const surface = surfaceM === groundM ? ground : shared(surfaceM);
  return {
    key: `${process.pid}-${++serial}`,
    text: bytes,
    arrays: {
      groundM: ground,
      surfaceM: surface,
      bareSurfaceM: bareSurfaceM === surfaceM ? surface : bareSurfaceM === groundM ? ground : shared(bareSurfaceM),
      canopyM: canopyM === null ? null : shared(canopyM),
      buildingAt: buildingAt === null ? null : shared(buildingAt),
      farM: farField === null ? null : shared(farField.groundM),
    },
  };
}

interface Opened {
  key: string;
  scenario: Scenario;
  sweeps: { cells: Uint32Array; work: SweepWorkspace } | null;
}

/** The last plan this thread worked on; one is enough, since a run's tasks follow each other. */
let opened: Opened | null = null;

/** The scenario of a context, built once per thread. */
export function openContext(context: PlanContext): Opened {
  if (opened?.key === context.key) return opened;
  // A decoder refuses shared memory, so the bytes are copied first.
  const text = JSON.parse(new TextDecoder().decode(Uint8Array.from(context.text))) as ContextText;
  const { farM, ...arrays } = context.arrays;
  const scene: Scene = {
    ...text.scene,
    ...arrays,
    frame: createLocalFrame(text.origin),
    farField: text.farGrid && farM ? { grid: text.farGrid, groundM: farM } : null,
  };
  opened = { key: context.key, scenario: makeScenario(text.loaded, scene), sweeps: null };
  return opened;
}

/** The thread's arrays for sweeps toward one set of cells. */
export function openSweeps(o: Opened, cells: Uint32Array): SweepWorkspace {
  if (o.sweeps === null || o.sweeps.cells.length !== cells.length || o.sweeps.cells.buffer !== cells.buffer)
    o.sweeps = { cells, work: sweepWorkspace(o.scenario.scene, cells) };
  return o.sweeps.work;
}
