import { cancelRun, running, spots, startRun } from "./runs.ts";
import { redo, undo } from "./session.ts";
import { dropTrial, putBack, trial } from "./trial.ts";
import * as view from "./view.ts";

/** Acts bound to keys elsewhere (trial moves need the map) register here. */
export const keyHooks = {
  moveUnit: () => {},
  add: (_what: string) => {},
  explain: (_element: Element) => {},
  stopTool: () => false,
};
const REGIONS = ["banner", "panel", "map", "bench", "dataline"];
let waitingForAdd = false;

function inField(target: EventTarget | null): boolean {
  return (
    target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement
  );
}
function step(by: number): void {
  const all = spots.value;
  if (all.length === 0) return;
  const now = all.findIndex((s) => s.id === view.selected.value);
  const next = all[Math.min(all.length - 1, Math.max(0, now + by))]!;
  view.stage.value = "spots";
  view.select(next.id);
  document.getElementById(`spot-${next.id}`)?.scrollIntoView({ block: "nearest" });
}
/** F6: on to the next region that is on the page. */
function nextRegion(back: boolean): void {
  const found = REGIONS.map((r) => document.querySelector<HTMLElement>(`[data-region="${r}"]`)).filter(
    (e): e is HTMLElement => e !== null && e.offsetParent !== null,
  );
  const now = found.findIndex((e) => e.contains(document.activeElement));
  const next = found[(now + (back ? -1 : 1) + found.length) % found.length];
  next?.focus();
}
/** Escape goes one level back, the innermost first. */
export function back(): boolean {
  if (trial.value !== null) putBack();
  else if (view.listOpen.value) view.listOpen.value = false;
  else if (view.stage.value === "plan" && keyHooks.stopTool()) return true;
  else if (view.compared.value.length > 0) view.compared.value = [];
  else if (view.opened.value) view.closeSpot();
  else return false;
  return true;
}

const goTo = (stage: view.Stage): void => {
  view.stage.value = stage;
};
const showLayer = (show: view.Show): void => {
  view.show.value = show;
};
const LETTERS: Record<string, () => void> = {
  "1": () => goTo("plan"),
  "2": () => goTo("spots"),
  "3": () => goTo("handover"),
  j: () => step(1),
  k: () => step(-1),
  r: () => void startRun(),
  x: () => {
    if (view.selected.value !== null) view.compareWith(view.selected.value);
  },
  s: () => showLayer("score"),
  c: () => showLayer("coverage"),
  y: () => showLayer("sky"),
  p: () => showLayer("plan"),
  m: () => keyHooks.moveUnit(),
  a: () => {
    waitingForAdd = true;
    setTimeout(() => {
      waitingForAdd = false;
    }, 1500);
  },
  "[": () => {
    view.folded.value = !view.folded.value;
  },
  l: () => {
    view.listOpen.value = !view.listOpen.value;
  },
  "/": () => {
    view.dialog.value = "find";
  },
  "?": () => {
    const at = document.activeElement;
    if (at?.classList.contains("num")) keyHooks.explain(at);
    else view.dialog.value = "keys";
  },
};

export function startKeys(): void {
  addEventListener("keydown", (event) => {
    if (event.key === "F6") {
      event.preventDefault();
      nextRegion(event.shiftKey);
      return;
    }
    const open = document.querySelector("dialog[open]") !== null;
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !inField(event.target)) {
      event.preventDefault();
      if (event.shiftKey) redo();
      else undo();
      return;
    }
    if (open) return;
    if (event.key === "Escape") {
      if (document.querySelector("[popover]:popover-open") === null && back()) event.preventDefault();
      return;
    }
    if (inField(event.target) || event.ctrlKey || event.metaKey || event.altKey || !view.letterKeys.value) return;
    if (waitingForAdd) {
      waitingForAdd = false;
      keyHooks.add(event.key.toLowerCase());
      event.preventDefault();
      return;
    }
    if (event.key === "R" && event.shiftKey) {
      if (running.value !== null) void cancelRun();
      return;
    }
    if (event.key === "Enter" && document.activeElement === document.body) {
      if (trial.value !== null) dropTrial();
      else if (view.selected.value !== null && view.stage.value === "spots") view.openSpot(view.selected.value);
      return;
    }
    const act = event.shiftKey && event.key !== "?" ? undefined : LETTERS[event.key.toLowerCase()];
    if (act) {
      event.preventDefault();
      act();
    }
  });
}
