import { signal } from "@preact/signals";
import { ApiError, GoneError } from "../api.ts";

/** A named, undoable act or a short word to the reader; stays 8 s or while it holds the focus. */
export interface Toast {
  id: number;
  text: string;
  act?: { label: string; run: () => void };
}
export interface Fault {
  title: string;
  text: string;
  hint: string;
  code: string;
  retry?: (() => void) | undefined;
}
export const toast = signal<Toast | null>(null);
export const polite = signal("");
export const assertive = signal("");
export const connected = signal(true);
/** Faults by the place they belong beside: plan, run, path, sky, cover, cell, ground. */
export const faults = signal<Record<string, Fault>>({});

let count = 0;
export function say(text: string, act?: Toast["act"]): void {
  toast.value = { id: ++count, text, ...(act ? { act } : {}) };
}

let lastSaid = 0;
let waiting: ReturnType<typeof setTimeout> | undefined;
/** Speaks to a screen reader, at most once a second; the last word wins. */
export function announce(text: string): void {
  clearTimeout(waiting);
  const wait = Math.max(0, 1000 - (Date.now() - lastSaid));
  waiting = setTimeout(() => {
    lastSaid = Date.now();
    polite.value = text;
  }, wait);
}

export function clearFault(place: string): void {
  if (!(place in faults.peek())) return;
  const { [place]: _gone, ...rest } = faults.peek();
  faults.value = rest;
}
/** Puts a fault beside its cause. A lost connection is told once, in the bar, and not here. */
export function fault(place: string, title: string, thrown: unknown, retry?: () => void): void {
  if (thrown instanceof DOMException && thrown.name === "AbortError") return;
  if (thrown instanceof GoneError) return;
  const body = thrown instanceof ApiError ? thrown.body : null;
  const text = body?.message ?? (thrown instanceof Error ? thrown.message : String(thrown));
  const where = body && body.where !== "" && !body.where.startsWith("/") ? ` (${body.where})` : "";
  faults.value = {
    ...faults.peek(),
    [place]: { title, text: `${text}${where}`, hint: body?.hint ?? "", code: body?.code ?? "internal", retry },
  };
  assertive.value = `${title} ${text}`;
}
