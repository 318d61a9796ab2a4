import { computed, effect, signal } from "@preact/signals";
import type { Plan } from "../../src/plan/types.ts";
import { ApiError, api, GoneError, watchConnection } from "../api.ts";
import type { Features, Ground, PlanAnswer, PlanRow, Sample } from "../api-types.ts";
import * as undoing from "../lib/history.ts";
import { clearFault, connected, fault, say } from "./notices.ts";
import { loadRuns } from "./runs.ts";
import * as view from "./view.ts";

/** The plan on screen. Everything shown is derived from the document, the ground and the last result. */
export const stored = signal<PlanAnswer | null>(null);
export const plan = signal<Plan | null>(null);
export const revision = signal(0);
export const savedAt = signal<string | null>(null);
export const saving = signal<"saved" | "saving" | "kept" | "conflict">("saved");
export const history = signal<undoing.History<Plan>>(undoing.emptyHistory(false));
export const ground = signal<Ground | null>(null);
export const groundWaiting = signal(false);
export const contours = signal<Features | null>(null);
export const canopy = signal<Features | null>(null);
export const samples = signal<Sample[] | null>(null);
export const plans = signal<PlanRow[] | null>(null);
export const loading = signal(false);

/** Geometry named by file comes resolved from the service until it is edited; then it stands in the plan itself. */
const resolved = <K extends "points" | "parking" | "hazards" | "drops" | "donors">(key: K, own: unknown) =>
  typeof own === "object" && own !== null ? (own as PlanAnswer[K]) : (stored.value?.[key] ?? null);
export const points = computed(() => resolved("points", plan.value?.points));
export const parking = computed(() => resolved("parking", plan.value?.parking));
export const hazards = computed(() => resolved("hazards", plan.value?.hazards));
export const drops = computed(() => resolved("drops", plan.value?.backhaul?.drops));
export const donors = computed(() => resolved("donors", plan.value?.backhaul?.donors));
export const buildings = computed(() => stored.value?.buildings ?? null);
export const changes = computed(() => undoing.changeCount(history.value));
export const missing = computed(() => {
  const what: string[] = [];
  if ((points.value?.features.length ?? 0) === 0) what.push("one point");
  if ((parking.value?.features.length ?? 0) === 0) what.push("one parking area");
  return what;
});

let firstLoad = true;

export async function loadStart(): Promise<void> {
  const [s, p] = await Promise.allSettled([api.samples(), api.plans()]);
  if (s.status === "fulfilled") samples.value = s.value;
  else fault("start", "The list of plans could not be read.", s.reason, () => void loadStart());
  if (p.status === "fulfilled") plans.value = p.value;
  // A service that holds one plan only is opened at it; later a start page without a plan is what was asked for.
  const only = plans.value?.length === 1 ? plans.value[0] : undefined;
  if (firstLoad && only && view.planId.value === null) view.planId.value = only.id;
  firstLoad = false;
}

export async function openSample(id: string): Promise<void> {
  loading.value = true;
  try {
    const made = await api.createPlan({ sample: id });
    view.planId.value = made.id;
  } catch (thrown) {
    fault("start", "The finished plan could not be opened.", thrown, () => void openSample(id));
    loading.value = false;
  }
}

let wanted = "";
export async function loadPlan(id: string): Promise<void> {
  wanted = id;
  loading.value = true;
  clearFault("plan");
  try {
    const answer = await api.plan(id);
    if (wanted !== id) return;
    takePlan(answer);
    loading.value = false;
    void loadGround(id);
    void loadRuns(id, answer.latestRun);
  } catch (thrown) {
    if (wanted !== id) return;
    loading.value = false;
    fault("plan", "This plan could not be opened.", thrown, () => void loadPlan(id));
  }
}
function takePlan(answer: PlanAnswer): void {
  stored.value = answer;
  plan.value = answer.plan;
  revision.value = answer.revision;
  savedAt.value = answer.updatedAt;
  saving.value = "saved";
  const fresh = answer.latestRunRevision !== null && answer.latestRunRevision === answer.revision;
  history.value = undoing.emptyHistory(fresh, answer.revision - (answer.latestRunRevision ?? answer.revision));
}

/** True when the plan names a raster, so that there is ground to read. */
export const namesGround = (doc: Plan | null): boolean =>
  (doc?.terrain.ground?.length ?? 0) + (doc?.terrain.surface?.length ?? 0) > 0;
let groundOf: Plan["terrain"] | null = null;

async function loadGround(id: string): Promise<void> {
  const doc = plan.peek();
  groundOf = doc?.terrain ?? null;
  ground.value = null;
  contours.value = null;
  canopy.value = null;
  clearFault("ground");
  if (!namesGround(doc)) return;
  try {
    const g = await api.ground(id, () => {
      groundWaiting.value = true;
    });
    if (wanted !== id) return;
    ground.value = g;
    const [c, t] = await Promise.allSettled([api.contours(id), api.canopy(id)]);
    if (wanted !== id) return;
    if (c.status === "fulfilled") contours.value = c.value;
    if (t.status === "fulfilled") canopy.value = t.value;
  } catch (thrown) {
    fault("ground", "The ground could not be read.", thrown, () => void loadGround(id));
  } finally {
    groundWaiting.value = false;
  }
}

/** The plan's rasters have changed: what was resolved from files and the ground are read anew. */
async function loadTerrain(id: string): Promise<void> {
  const answer = await api.plan(id).catch(() => null);
  if (answer !== null && wanted === id) stored.value = answer;
  await loadGround(id);
}

/** Makes one change of the plan: one step of undo, saved a moment later. */
export function change(label: string, edit: (plan: Plan) => Plan, cosmetic = false): void {
  const before = plan.value;
  if (before === null) return;
  const after = edit(before);
  if (after === before) return;
  history.value = undoing.push(history.value, { label, before, after, cosmetic });
  plan.value = after;
  say(label, { label: "Undo", run: undo });
  scheduleSave();
}
export function undo(): void {
  const step = undoing.nextUndo(history.value);
  if (step === undefined) return;
  history.value = undoing.undo(history.value);
  plan.value = step.before;
  say(`Undone: ${step.label}`, { label: "Redo", run: redo });
  scheduleSave();
}
export function redo(): void {
  const step = undoing.nextRedo(history.value);
  if (step === undefined) return;
  history.value = undoing.redo(history.value);
  plan.value = step.after;
  say(step.label, { label: "Undo", run: undo });
  scheduleSave();
}

let timer: ReturnType<typeof setTimeout> | undefined;
let saveRunning: Promise<boolean> | null = null;
let retryMs = 2000;
function scheduleSave(afterMs = 600): void {
  if (saving.value === "conflict") return;
  saving.value = connected.value ? "saving" : "kept";
  clearTimeout(timer);
  timer = setTimeout(() => void saveNow(), afterMs);
}
/** Saves what is on screen and says whether the service now has it. */
export async function saveNow(): Promise<boolean> {
  clearTimeout(timer);
  if (saveRunning) await saveRunning;
  const id = view.planId.value;
  const doc = plan.value;
  if (id === null || doc === null || saving.value === "conflict") return false;
  if (saving.value === "saved") return true;
  saveRunning = (async () => {
    try {
      const answer = await api.savePlan(id, revision.value, doc);
      revision.value = answer.revision;
      savedAt.value = new Date().toISOString();
      retryMs = 2000;
      clearFault("save");
      if (doc.terrain !== groundOf) void loadTerrain(id);
      if (plan.value === doc) saving.value = "saved";
      else scheduleSave(100);
      return true;
    } catch (thrown) {
      if (thrown instanceof GoneError) {
        saving.value = "kept";
        timer = setTimeout(() => void saveNow(), retryMs);
        retryMs = Math.min(16_000, retryMs * 2);
      } else if (thrown instanceof ApiError && thrown.status === 409) {
        saving.value = "conflict";
        fault("save", "Someone else changed this plan.", thrown);
      } else {
        saving.value = "kept";
        fault("save", "The last change is not saved.", thrown, () => void saveNow());
      }
      return false;
    } finally {
      saveRunning = null;
    }
  })();
  return saveRunning;
}
/** After a conflict: take the stored plan (mine is dropped) or put mine over it. */
export async function resolveConflict(keep: "mine" | "theirs"): Promise<void> {
  const id = view.planId.value;
  if (id === null) return;
  try {
    const answer = await api.plan(id);
    clearFault("save");
    if (keep === "theirs") {
      takePlan(answer);
      return;
    }
    revision.value = answer.revision;
    saving.value = "saving";
    await saveNow();
  } catch (thrown) {
    fault("save", "The stored plan could not be read.", thrown);
  }
}

function watch(): void {
  let retry: ReturnType<typeof setTimeout> | undefined;
  let pause = 2000;
  const probe = async (): Promise<void> => {
    try {
      await api.health();
    } catch {
      pause = Math.min(16_000, pause * 2);
      retry = setTimeout(() => void probe(), pause);
    }
  };
  watchConnection((answered) => {
    if (answered === connected.value) return;
    connected.value = answered;
    clearTimeout(retry);
    if (!answered) {
      pause = 2000;
      retry = setTimeout(() => void probe(), pause);
      return;
    }
    if (saving.value === "kept") scheduleSave(0);
    const id = view.planId.value;
    if (id !== null && plan.value === null) void loadPlan(id);
    if (id !== null && plan.value !== null && ground.value === null) void loadGround(id);
    if (id === null) void loadStart();
  });
}

export function startSession(): void {
  watch();
  effect(() => {
    const id = view.planId.value;
    if (id === null) {
      stored.value = null;
      plan.value = null;
      ground.value = null;
      void loadStart();
    } else if (id !== stored.peek()?.id) void loadPlan(id);
  });
  effect(() => {
    document.title = plan.value === null ? "Hardstand" : `${plan.value.name}, Hardstand`;
  });
}
