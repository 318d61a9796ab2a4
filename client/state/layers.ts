import { computed, effect, signal } from "@preact/signals";
import type { CellAnswer, CoverAnswer } from "../../src/plan/outputs/types.ts";
import { api, followRun } from "../api.ts";
import type { Legend, Run } from "../api-types.ts";
import { clearFault, fault } from "./notices.ts";
import { result, selectedSpot } from "./runs.ts";
import { plan } from "./session.ts";
import { trial } from "./trial.ts";
import * as view from "./view.ts";

/** One quantity at a time on the map: the score of each cell, or what the selected spot covers. */
export interface Cover {
  key: string;
  runId: string | null;
  run: Run | null;
  answer: CoverAnswer | null;
}
export const cover = signal<Cover | null>(null);
export const legend = signal<Legend | null>(null);
export const tileTheme = computed(() => (view.theme.value === "night" ? "night" : "day"));
const known = new Map<string, { runId: string; answer: CoverAnswer }>();
let stop: (() => void) | null = null;

export const services = computed(() => plan.value?.unit.services ?? []);
export const service = computed(
  () => services.value.find((s) => s.id === view.coverService.value) ?? services.value[0] ?? null,
);

/** The place coverage is asked for: the trial spot while there is one, else the selected spot. */
const coverPlace = computed(() => {
  const t = trial.value;
  if (t !== null) return t.phase === "dragging" ? null : { lng: t.lng, lat: t.lat, name: "Trial spot" };
  const s = selectedSpot.value;
  return s === null ? null : { lng: s.lng, lat: s.lat, name: s.name };
});

/** What the value raster shows now, or null. */
export const valueLayer = computed<{ runId: string; layer: "score" | "value" } | null>(() => {
  if (view.stage.value === "plan") return null;
  if (view.show.value === "score") return result.value === null ? null : { runId: result.value.runId, layer: "score" };
  if (view.show.value === "coverage") {
    const c = cover.value;
    return c?.answer != null && c.runId !== null ? { runId: c.runId, layer: "value" } : null;
  }
  return null;
});

async function wantCover(
  planId: string,
  place: { lng: number; lat: number },
  serviceId: string,
  what: typeof view.coverWhat.value,
): Promise<void> {
  const need = plan.peek()?.unit.services.find((s) => s.id === serviceId)?.needs[0]?.id;
  const key = [result.peek()?.runId, place.lng.toFixed(6), place.lat.toFixed(6), serviceId, what].join("/");
  if (cover.peek()?.key === key) return;
  stop?.();
  stop = null;
  const before = known.get(key);
  if (before) {
    cover.value = { key, run: null, ...before };
    return;
  }
  cover.value = { key, runId: null, run: null, answer: null };
  clearFault("cover");
  try {
    const { runId } = await api.startCover(planId, {
      ...place,
      service: serviceId,
      what,
      need: what === "probability" ? need : undefined,
    });
    if (cover.peek()?.key !== key) {
      void api.cancelRun(runId).catch(() => {});
      return;
    }
    stop = followRun(runId, (run) => {
      if (cover.peek()?.key !== key) return;
      cover.value = { key, runId, run, answer: null };
      if (run.state === "done")
        api
          .coverResult(runId)
          .then((answer) => {
            known.set(key, { runId, answer });
            if (cover.peek()?.key === key) cover.value = { key, runId, run: null, answer };
          })
          .catch((thrown) => fault("cover", "The coverage could not be read.", thrown));
      if (run.state === "failed")
        fault("cover", "The coverage could not be worked out.", new Error(run.error?.message ?? ""));
    });
    const halt = stop;
    stop = () => {
      halt();
      void api.cancelRun(runId).catch(() => {});
    };
  } catch (thrown) {
    fault("cover", "The coverage could not be worked out.", thrown, () => {
      cover.value = null;
    });
  }
}

/** Value, unit and reason of a picked cell, from the arrays of the run. */
export interface Lens {
  lng: number;
  lat: number;
  cell: CellAnswer | null;
  text: string | null;
}
export const lens = signal<Lens | null>(null);
let reading: AbortController | null = null;
export function readCell(lng: number, lat: number): void {
  const run = result.value;
  reading?.abort();
  if (run === null) {
    lens.value = null;
    return;
  }
  const mine = new AbortController();
  reading = mine;
  lens.value = { lng, lat, cell: null, text: null };
  api
    .cell(run.runId, lng, lat, false, mine.signal)
    .then((cell) => {
      if (!mine.signal.aborted) lens.value = { lng, lat, cell, text: null };
    })
    .catch((thrown) => {
      if (mine.signal.aborted) return;
      lens.value = {
        lng,
        lat,
        cell: null,
        text: thrown instanceof Error ? thrown.message : "This place could not be read.",
      };
    });
}
export function closeLens(): void {
  reading?.abort();
  lens.value = null;
}

export function startLayers(): void {
  effect(() => {
    const planId = view.planId.value;
    const place = coverPlace.value;
    const s = service.value;
    const what = view.coverWhat.value;
    if (
      view.show.value !== "coverage" ||
      view.stage.value === "plan" ||
      planId === null ||
      place === null ||
      s === null
    )
      return;
    void wantCover(planId, { lng: place.lng, lat: place.lat }, s.id, what);
  });
  let asked = "";
  effect(() => {
    const layer = valueLayer.value;
    const theme = tileTheme.value;
    if (layer === null) {
      asked = "";
      legend.value = null;
      return;
    }
    const key = `${layer.runId}/${layer.layer}/${theme}`;
    if (key === asked) return;
    asked = key;
    legend.value = null;
    api
      .legend(layer.runId, layer.layer, theme)
      .then((l) => {
        if (asked === key) legend.value = l;
      })
      .catch((thrown) => fault("legend", "The legend could not be read.", thrown));
  });
  effect(() => {
    view.stage.value;
    view.planId.value;
    closeLens();
  });
}
