import { batch, computed, signal } from "@preact/signals";
import type { RankAnswer, Spot } from "../../src/plan/outputs/types.ts";
import { api, followRun } from "../api.ts";
import type { Run, RunRow } from "../api-types.ts";
import * as undoing from "../lib/history.ts";
import { announce, clearFault, fault, say } from "./notices.ts";
import { changes, history, saveNow } from "./session.ts";
import * as view from "./view.ts";

export const running = signal<Run | null>(null);
export const result = signal<{ runId: string; rank: RankAnswer } | null>(null);
export const resultLoading = signal(false);
export const runRows = signal<RunRow[]>([]);
let stop: (() => void) | null = null;

export const spots = computed<Spot[]>(() => result.value?.rank.spots ?? []);
export const selectedSpot = computed<Spot | null>(() => spots.value.find((s) => s.id === view.selected.value) ?? null);
/** The newest finished ranking; what is shown may be an earlier one. */
export const latestRun = signal<string | null>(null);
export const earlier = computed(() => result.value !== null && result.value.runId !== latestRun.value);
export const stale = computed(() => result.value !== null && (changes.value > 0 || earlier.value));
export const noFeasible = computed(() => result.value !== null && result.value.rank.feasibleCount === 0);

export async function loadRuns(planId: string, latest: string | null): Promise<void> {
  stop?.();
  stop = null;
  batch(() => {
    result.value = null;
    running.value = null;
    runRows.value = [];
  });
  latestRun.value = latest;
  if (latest !== null) void takeResult(latest);
  const rows = await api.runs(planId).catch(() => []);
  runRows.value = rows;
  const live = rows.find((r) => r.kind === "rank" && (r.state === "running" || r.state === "queued"));
  if (live) follow(live.runId, undoing.ran(history.value).cursor);
}

async function takeResult(runId: string): Promise<void> {
  resultLoading.value = true;
  try {
    const rank = await api.rankResult(runId);
    batch(() => {
      result.value = { runId, rank };
      const known = rank.spots.some((s) => s.id === view.selected.value);
      if (!known) {
        view.selected.value = rank.spots[0]?.id ?? null;
        view.opened.value = false;
      }
      view.compared.value = view.compared.value.filter((c) => rank.spots.some((s) => s.id === c));
    });
    clearFault("run");
  } catch (thrown) {
    fault("run", "The result could not be read.", thrown, () => void takeResult(runId));
  } finally {
    resultLoading.value = false;
  }
}

function follow(runId: string, ranAt: number): void {
  stop?.();
  stop = followRun(runId, (run) => {
    running.value = run;
    if (run.state === "running" || run.state === "queued") {
      announce(`${run.step}, step ${run.stepIndex + 1} of ${run.stepCount}`);
      return;
    }
    void ended(run, ranAt);
  });
}
async function ended(run: Run, ranAt: number): Promise<void> {
  if (run.state === "done") {
    latestRun.value = run.runId;
    await takeResult(run.runId);
    history.value = undoing.ran(history.value, ranAt);
    const best = result.value?.rank.spots[0];
    announce(
      result.value?.rank.feasibleCount === 0
        ? "Run finished. No spot serves every must."
        : `Run finished. Spot 1 is ${best?.name ?? "ready"}.`,
    );
  } else if (run.state === "cancelled") {
    say(
      result.value === null
        ? "Run cancelled. Nothing is shown yet."
        : "Run cancelled. The earlier results are still here.",
    );
    announce("Run cancelled.");
  } else if (run.error !== null) {
    const body = run.error;
    fault(
      "run",
      "The run stopped. Earlier results are untouched.",
      Object.assign(new Error(body.message), { body }),
      () => void startRun(),
    );
  }
  running.value = null;
  runRows.value = await api.runs(run.planId).catch(() => runRows.value);
}

let starting = false;
export async function startRun(): Promise<void> {
  const id = view.planId.value;
  if (id === null || starting || running.value !== null) return;
  starting = true;
  clearFault("run");
  try {
    const at = history.value.cursor;
    if (!(await saveNow())) return;
    const { runId } = await api.startRank(id);
    running.value = {
      runId,
      kind: "rank",
      state: "queued",
      step: "Waiting for its turn",
      stepIndex: 0,
      stepCount: 1,
      done: 0,
      total: 0,
      secondsLeft: null,
      error: null,
      planId: id,
      planRevision: 0,
      hasResult: false,
    };
    view.stage.value = "spots";
    view.opened.value = false;
    follow(runId, at);
  } catch (thrown) {
    fault("run", "The run could not start.", thrown, () => void startRun());
  } finally {
    starting = false;
  }
}
export async function cancelRun(): Promise<void> {
  const run = running.value;
  if (run === null) return;
  try {
    await api.cancelRun(run.runId);
  } catch (thrown) {
    fault("run", "The run could not be cancelled.", thrown, () => void cancelRun());
  }
}
/** Shows the result of an earlier run. */
export const showRun = (runId: string): void => void takeResult(runId);
