import type { Map as GlMap, Marker as GlMarker } from "maplibre-gl";
import type { MapEvents, MapPort } from "./port.ts";

const METRES_PER_DEGREE = 111_320;

/** The lifted copy of the unit: an outlined slab that can be dragged, or nudged by arrow keys (1 m, with Shift 10 m). */
export function trialMarker(map: GlMap, Marker: typeof GlMarker, events: MapEvents) {
  let marker: GlMarker | null = null;
  const element = document.createElement("button");
  element.type = "button";
  element.className = "trial-marker";
  const slab = document.createElement("span");
  slab.className = "trial-slab";
  slab.textContent = "?";
  element.append(slab);
  // A click on the copy is no pick of the cell under it.
  element.addEventListener("click", (event) => event.stopPropagation());
  element.addEventListener("keydown", (event) => {
    if (marker === null) return;
    const step = event.shiftKey ? 10 : 1;
    const move: Record<string, [number, number]> = {
      ArrowUp: [0, step],
      ArrowDown: [0, -step],
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
    };
    const by = move[event.key];
    if (by !== undefined) {
      event.preventDefault();
      event.stopPropagation();
      const at = marker.getLngLat();
      const lat = at.lat + by[1] / METRES_PER_DEGREE;
      const lng = at.lng + by[0] / (METRES_PER_DEGREE * Math.cos((at.lat * Math.PI) / 180));
      events.onTrialMove(lng, lat);
    } else if (event.key === "Enter") {
      event.preventDefault();
      event.stopPropagation();
      events.onTrialDrop();
    }
  });
  return {
    set(trial: Parameters<MapPort["setTrial"]>[0]): void {
      if (trial === null) {
        marker?.remove();
        marker = null;
        return;
      }
      element.setAttribute("aria-label", trial.label);
      if (marker === null) {
        marker = new Marker({ element, anchor: "bottom", draggable: true })
          .setLngLat([trial.lng, trial.lat])
          .addTo(map);
        marker.on("drag", () => {
          const p = marker?.getLngLat();
          if (p) events.onTrialMove(p.lng, p.lat);
        });
        marker.on("dragend", () => events.onTrialDrop());
      } else marker.setLngLat([trial.lng, trial.lat]);
    },
    focus: () => element.focus(),
  };
}
