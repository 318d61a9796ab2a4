import { signal } from "@preact/signals";
import type { CellAnswer } from "../../src/plan/outputs/types.ts";
import { api } from "../api.ts";
import { fault } from "./notices.ts";
import { result } from "./runs.ts";
import * as view from "./view.ts";

/** The lifted copy of the unit: where it is, and what is known of that place. */
export interface Trial {
  lng: number;
  lat: number;
  phase: "dragging" | "checking" | "final";
  /** From screening at once ("about"), or in full after the drop. */
  cell: CellAnswer | null;
}
export const trial = signal<Trial | null>(null);
let asked: AbortController | null = null;
let due: { lng: number; lat: number } | null = null;
let asking = false;

export function putUnit(lng: number, lat: number): void {
  moveTrial(lng, lat);
  dropTrial();
}
/** Moves the copy; asks the service again as soon as the last answer is in. Only the newest place counts. */
export function moveTrial(lng: number, lat: number): void {
  trial.value = { lng, lat, phase: "dragging", cell: trial.value?.cell ?? null };
  due = { lng, lat };
  if (!asking) void screen();
}
async function screen(): Promise<void> {
  asking = true;
  while (due !== null) {
    const place = due;
    due = null;
    const id = view.planId.value;
    if (id === null) break;
    asked?.abort();
    asked = new AbortController();
    try {
      const cell = await api.trial(id, place.lng, place.lat, asked.signal);
      if (trial.value !== null && trial.value.phase === "dragging") trial.value = { ...trial.value, cell };
    } catch (thrown) {
      fault("cell", "This place could not be checked.", thrown);
      break;
    }
  }
  asking = false;
}
export function dropTrial(): void {
  const now = trial.value;
  const run = result.value;
  const id = view.planId.value;
  if (now === null || id === null) return;
  due = null;
  trial.value = { ...now, phase: "checking" };
  asked?.abort();
  const mine = new AbortController();
  asked = mine;
  const answer =
    run === null
      ? api.trial(id, now.lng, now.lat, mine.signal)
      : api.cell(run.runId, now.lng, now.lat, true, mine.signal);
  answer
    .then((cell) => {
      if (!mine.signal.aborted && trial.value !== null) trial.value = { ...trial.value, phase: "final", cell };
    })
    .catch((thrown) => fault("cell", "This place could not be checked.", thrown, dropTrial));
}
export function putBack(): void {
  asked?.abort();
  due = null;
  trial.value = null;
}
