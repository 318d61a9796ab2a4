import { computed, effect, signal } from "@preact/signals";
import type { PathAnswer, SkyAnswer, Spot } from "../../src/plan/outputs/types.ts";
import { api } from "../api.ts";
import { middle } from "../lib/middle.ts";
import { worstPerPoint } from "../lib/strip.ts";
import { clearFault, fault } from "./notices.ts";
import { selectedSpot, spots } from "./runs.ts";
import { points } from "./session.ts";
import { trial } from "./trial.ts";
import * as view from "./view.ts";

export interface Asked<T> {
  key: string;
  answer: T | null;
  loading: boolean;
}
/** Evidence for the open spot: the line to the point in focus, and the sky above it. */
export const detailPath = signal<Asked<PathAnswer>>({ key: "", answer: null, loading: false });
export const detailSky = signal<Asked<SkyAnswer>>({ key: "", answer: null, loading: false });
const paths = new Map<string, PathAnswer>();
const skies = new Map<string, SkyAnswer>();

/** The place the detail is about: the trial spot once it is dropped, else the open spot. */
export const place = computed<{ lng: number; lat: number; id: string; name: string; spot: Spot | null } | null>(() => {
  const t = trial.value;
  if (t !== null)
    return t.phase === "dragging"
      ? null
      : { lng: t.lng, lat: t.lat, id: "trial", name: "Trial spot", spot: t.cell?.spot ?? null };
  const s = selectedSpot.value;
  return s === null ? null : { lng: s.lng, lat: s.lat, id: s.id, name: s.name, spot: s };
});

/** Point the section goes to: the one in focus, else the first short one, else the first. */
export const sectionPoint = computed<string | null>(() => {
  if (view.focus.value?.kind === "point") return view.focus.value.id;
  const spot = place.value?.spot;
  if (!spot) return null;
  const worst = [...worstPerPoint(spot.points).values()];
  return (worst.find((p) => p.met === false) ?? worst[0])?.id ?? null;
});

const targetOf = (pointId: string): { lng: number; lat: number } | null => {
  const spot = place.value?.spot;
  const found = spot?.points.find((p) => p.id === pointId);
  if (found?.tiles) return { lng: found.tiles.worstLng, lat: found.tiles.worstLat };
  const features = points.value?.features ?? [];
  const i = features.findIndex((f, n) => (f.properties.id ?? String(f.id ?? `point-${n + 1}`)) === pointId);
  if (i < 0) return null;
  const [lng, lat] = middle(features[i]!.geometry as never);
  return { lng: lng!, lat: lat! };
};

/** One profile, kept for the life of the page. */
export async function pathTo(
  planId: string,
  from: { lng: number; lat: number },
  pointId: string,
  service: string,
  signal?: AbortSignal,
): Promise<PathAnswer | null> {
  const to = targetOf(pointId);
  if (to === null) return null;
  const key = [planId, from.lng, from.lat, to.lng, to.lat, service, pointId].join("/");
  const before = paths.get(key);
  if (before) return before;
  const answer = await api.path(
    planId,
    { fromLng: from.lng, fromLat: from.lat, toLng: to.lng, toLat: to.lat, service, point: pointId },
    signal,
  );
  if (paths.size > 80) paths.clear();
  paths.set(key, answer);
  return answer;
}
export const serviceOf = (spot: Spot | null, pointId: string): string | null =>
  spot?.points.find((p) => p.id === pointId)?.service ??
  spots.value[0]?.points.find((p) => p.id === pointId)?.service ??
  null;

export function startDetail(): void {
  effect(() => {
    const at = place.value;
    const id = view.planId.value;
    const pointId = sectionPoint.value;
    const wanted = (view.opened.value || trial.value !== null) && view.stage.value === "spots";
    if (!wanted || at === null || id === null || pointId === null) {
      detailPath.value = { key: "", answer: null, loading: false };
      return;
    }
    const service = serviceOf(at.spot, pointId);
    if (service === null) return;
    const key = `${at.lng}/${at.lat}/${pointId}`;
    const stop = new AbortController();
    detailPath.value = { key, answer: null, loading: true };
    clearFault("path");
    pathTo(id, at, pointId, service, stop.signal)
      .then((answer) => {
        if (!stop.signal.aborted) detailPath.value = { key, answer, loading: false };
      })
      .catch((thrown) => {
        if (stop.signal.aborted) return;
        detailPath.value = { key, answer: null, loading: false };
        fault("path", "The cross-section could not be worked out.", thrown);
      });
    return () => stop.abort();
  });
  effect(() => {
    const at = place.value;
    const id = view.planId.value;
    const wanted =
      (view.opened.value || view.show.value === "sky" || trial.value !== null) && view.stage.value === "spots";
    if (!wanted || at === null || id === null) {
      detailSky.value = { key: "", answer: null, loading: false };
      return;
    }
    const key = `${id}/${at.lng}/${at.lat}`;
    const before = skies.get(key);
    if (before) {
      detailSky.value = { key, answer: before, loading: false };
      return;
    }
    const stop = new AbortController();
    detailSky.value = { key, answer: null, loading: true };
    clearFault("sky");
    api
      .sky(id, at.lng, at.lat, undefined, stop.signal)
      .then((answer) => {
        if (stop.signal.aborted) return;
        if (skies.size > 40) skies.clear();
        skies.set(key, answer);
        detailSky.value = { key, answer, loading: false };
      })
      .catch((thrown) => {
        if (stop.signal.aborted) return;
        detailSky.value = { key, answer: null, loading: false };
        fault("sky", "The sky could not be worked out.", thrown);
      });
    return () => stop.abort();
  });
  effect(() => {
    place.value;
    sectionPoint.value;
    view.along.value = {};
  });
}
