import { effect } from "@preact/signals";
import { alongPlace } from "../lib/geo.ts";
import { middle } from "../lib/middle.ts";
import { worstPerPoint } from "../lib/strip.ts";
import { detailPath, detailSky, place } from "../state/detail.ts";
import { keyHooks } from "../state/keys.ts";
import { closeLens, lens, tileTheme, valueLayer } from "../state/layers.ts";
import { result, running, selectedSpot, spots, stale } from "../state/runs.ts";
import { buildings, canopy, contours, donors, drops, ground, hazards, parking, points } from "../state/session.ts";
import { moveTrial, trial } from "../state/trial.ts";
import * as view from "../state/view.ts";
import * as make from "./features.ts";
import type { MapPort } from "./port.ts";

const EMPTY = make.collection([]);

/** Carries every piece of state the map shows to it; gives back how to stop each. */
export function wire(port: MapPort): (() => void)[] {
  let fitted = "";
  return [
    effect(() => {
      view.theme.value;
      port.recolor();
    }),
    effect(() => {
      const g = ground.value;
      const id = view.planId.value;
      port.setGround(
        g === null || id === null
          ? null
          : {
              url: `/api/plans/${id}/tiles/hillshade/{z}/{x}/{y}.png`,
              bounds: g.bounds,
              minZoom: g.minZoom,
              maxZoom: g.maxZoom,
            },
      );
      if (g === null || id === null || fitted === id) return;
      fitted = id;
      const b = make.boundsOf([points.peek(), parking.peek()] as Parameters<typeof make.boundsOf>[0]);
      const [west, south, east, north] = g.bounds;
      const plan = b ?? { west, south, east, north };
      port.fit({
        west: Math.max(plan.west, west),
        south: Math.max(plan.south, south),
        east: Math.min(plan.east, east),
        north: Math.min(plan.north, north),
      });
    }),
    effect(() =>
      port.setData(
        "contours",
        contours.value === null ? EMPTY : make.contourFeatures(contours.value, view.lengthUnit.value),
      ),
    ),
    effect(() => port.setData("canopy", canopy.value ?? EMPTY)),
    effect(() =>
      port.setData(
        "buildings",
        buildings.value === null ? EMPTY : make.buildingFeatures(buildings.value, view.lengthUnit.value),
      ),
    ),
    effect(() => port.setData("hazards", hazards.value === null ? EMPTY : make.hazardFeatures(hazards.value))),
    effect(() => port.setData("things", make.things(hazards.value, drops.value as never, donors.value as never))),
    effect(() => {
      port.setData("parking", (parking.value ?? EMPTY) as never);
      port.setData("parking-places", parking.value === null ? EMPTY : make.parkingPlaces(parking.value));
    }),
    effect(() => port.setData("points", (points.value ?? EMPTY) as never)),
    effect(() => {
      const spot = trial.value?.cell?.spot ?? (view.stage.value === "spots" ? selectedSpot.value : null);
      const focus = view.focus.value?.kind === "point" ? view.focus.value.id : null;
      const found = spot === null ? null : worstPerPoint(spot.points);
      port.setData(
        "point-places",
        points.value === null ? EMPTY : make.pointPlaces(points.value, found, focus, litPoint()),
      );
    }),
    effect(() => {
      const on = view.selected.value;
      const pair = view.compared.value;
      const lit = view.hovered.value?.kind === "spot" ? view.hovered.value.id : null;
      const shown = view.stage.value === "plan" ? [] : spots.value;
      port.setSpots(
        shown.map((s) => ({
          id: s.id,
          text: String(s.rank),
          lng: s.lng,
          lat: s.lat,
          state: s.id === (pair[0] ?? on) ? "selected" : s.feasible ? "full" : "open",
          lit: s.id === lit,
        })),
      );
    }),
    effect(() => {
      const layer = valueLayer.value;
      const g = ground.value;
      if (layer === null || g === null) return port.setValue(null);
      const theme = tileTheme.value;
      port.setValue({
        key: `${layer.runId}/${layer.layer}/${theme}`,
        url: `/api/runs/${layer.runId}/tiles/${layer.layer}/{z}/{x}/{y}.png?theme=${theme}`,
        bounds: g.bounds,
        minZoom: g.minZoom,
        maxZoom: g.maxZoom,
      });
    }),
    effect(() => {
      const layer = valueLayer.value?.layer ?? "score";
      port.setValueOpacity(view.opacity.value[layer]);
    }),
    effect(() => port.setValueOld(stale.value || (running.value !== null && result.value !== null))),
    effect(() => drawRays(port)),
    effect(() => {
      const p = detailPath.value.answer;
      const at = view.along.value.alongM;
      if (p === null || at === undefined) return port.setData("along", EMPTY);
      const [lng, lat] = alongPlace(p.from, p.to, at / p.distanceM);
      port.setData(
        "along",
        make.collection([
          {
            type: "Feature",
            geometry: { type: "Point", coordinates: [lng, lat] },
            properties: {
              label: `${Math.round(view.lengthUnit.value === "ft" ? at / 0.3048 : at)} ${view.lengthUnit.value}`,
              turn: p.bearingDeg + 90,
            },
          },
        ]),
      );
    }),
    effect(() => {
      const t = trial.value;
      port.setTrial(
        t === null
          ? null
          : {
              lng: t.lng,
              lat: t.lat,
              label:
                "Trial spot. Arrow keys move it 1 m, with Shift 10 m. Enter checks it in full, Escape puts it back.",
            },
      );
    }),
    effect(() => {
      const s = selectedSpot.value;
      if (s !== null && view.stage.value === "spots") port.show(s.lng, s.lat);
    }),
    effect(() => {
      const l = view.narrow.value;
      port.setPadding(l ? { top: 56, right: 56, bottom: 60, left: 8 } : { top: 52, right: 56, bottom: 16, left: 8 });
    }),
    (() => {
      keyHooks.moveUnit = () => {
        const s = selectedSpot.peek();
        const at = trial.peek() ?? (s === null ? port.center() : { lng: s.lng, lat: s.lat });
        moveTrial(at.lng, at.lat);
        port.focusTrial();
      };
      return () => {
        keyHooks.moveUnit = () => {};
      };
    })(),
    effect(() => {
      if (result.value === null && lens.peek() !== null) closeLens();
    }),
  ];
}

const litPoint = (): string | null => (view.hovered.value?.kind === "point" ? view.hovered.value.id : null);
/** Where a hovered point stands, for the preview of its line. */
function litPlace(): [number, number] | null {
  const id = litPoint();
  if (id === null) return null;
  const features = points.value?.features ?? [];
  const found = features.find((f, i) => make.featureId(f, i, "point") === id);
  return found === undefined ? null : (middle(found.geometry as never) as [number, number]);
}

/** The line being examined, and the bearing to a satellite with what blocks it. */
function drawRays(port: MapPort): void {
  const lines: { kind: string; from: [number, number]; to: [number, number] }[] = [];
  const p = detailPath.value.answer;
  if (p !== null && (view.opened.value || trial.value !== null))
    lines.push({ kind: "path", from: [p.from.lng, p.from.lat], to: [p.to.lng, p.to.lat] });
  const lit = litPlace();
  const from = place.value;
  if (lit !== null && from !== null && view.stage.value === "spots")
    lines.push({ kind: "preview", from: [from.lng, from.lat], to: lit });
  const sky = detailSky.value.answer;
  let blocker: string | null = null;
  const litSatellite =
    view.hovered.value?.kind === "satellite"
      ? view.hovered.value.id
      : view.focus.value?.kind === "satellite"
        ? view.focus.value.id
        : null;
  if (sky !== null && (view.opened.value || view.show.value === "sky" || trial.value !== null)) {
    for (const s of sky.satellites) {
      if (view.show.value !== "sky" && litSatellite !== s.id) continue;
      const reach = s.blockedBy?.distanceM ?? 400;
      lines.push({ kind: "bearing", from: [sky.lng, sky.lat], to: make.away(sky, s.azimuthDeg, Math.max(60, reach)) });
      if (s.blockedBy?.id && (litSatellite === s.id || litSatellite === null)) blocker = s.blockedBy.id;
    }
    const azimuthDeg = view.along.value.azimuthDeg;
    if (azimuthDeg !== undefined) {
      const sample = sky.horizon.reduce((a, b) =>
        turn(a.azimuthDeg, azimuthDeg) <= turn(b.azimuthDeg, azimuthDeg) ? a : b,
      );
      lines.push({
        kind: "bearing",
        from: [sky.lng, sky.lat],
        to: make.away(sky, azimuthDeg, sample.distanceM ?? 400),
      });
      if (sample.kind === "building") blocker = sample.id;
    }
  }
  port.setBlocker(blocker);
  port.setData(
    "ray",
    make.collection(
      lines.map((l) => ({
        type: "Feature",
        geometry: { type: "LineString", coordinates: [l.from, l.to] },
        properties: { kind: l.kind },
      })),
    ),
  );
}
const turn = (a: number, b: number): number => Math.abs(((a - b + 540) % 360) - 180);
