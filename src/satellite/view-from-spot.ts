import type { SatelliteView } from "../plan/outputs/types.ts";
import type { Satellite } from "../plan/types.ts";
import type { Scene } from "../terrain/scene.ts";
import { type AdviceOptions, adviceFor } from "./advice.ts";
import type { DishSettings } from "./dish.ts";
import { type MeasuredHorizon, measuredClearance } from "./measured-horizon.ts";
import {
  defaultK,
  judge,
  type SkySpot,
  type SkyWhen,
  type Standing,
  standAt,
  type ViewOptions as TubeViewOptions,
} from "./view.ts";

export interface ViewOptions extends TubeViewOptions, AdviceOptions {
  /** Advice for satellites that are not clear: up to half a second in dense streets, so only where asked for; default false. */
  advice?: boolean;
  /** A horizon measured at this spot: it tightens the computed clearance, or replaces it where it was measured. */
  measured?: { horizon: MeasuredHorizon; mode: "tighten" | "replace" };
}

/**
 * Does the dish work from this spot: one view per satellite, in the order given.
 * @param scene       the plan's ground, surface, canopy and buildings
 * @param spot        place, and optionally eye height (m) and the building whose roof carries the dish
 * @param dish        settings from dishSettings()
 * @param satellites  the plan's satellites
 * @param when        date, declination there and then, and the field model's name
 * @returns clearance in degrees (see satelliteView), what blocks and by how much, advice, and notes on what was assumed.
 *   Angles are compared with the satellite's geometric elevation; refraction would lift it, so this errs on the safe side.
 * Throws sky.inside-building, terrain.coverage, plan.unknown-reference: see standAt.
 */
export function viewFromSpot(
  scene: Scene,
  spot: SkySpot,
  dish: DishSettings,
  satellites: readonly Satellite[],
  when: SkyWhen,
  options: ViewOptions = {},
): SatelliteView[] {
  return viewsFrom(scene, spot, standAt(scene, spot, dish, when.date), dish, satellites, when, options);
}

/** viewFromSpot for a spot made ready beforehand. */
export function viewsFrom(
  scene: Scene,
  spot: SkySpot,
  standing: Standing,
  dish: DishSettings,
  satellites: readonly Satellite[],
  when: SkyWhen,
  options: ViewOptions,
): SatelliteView[] {
  const k = defaultK(options);
  return satellites.map((s) => {
    const judged = judge(scene, spot, standing, dish, s, when, k);
    if (options.measured !== undefined) applyMeasured(judged.view, dish, options.measured);
    if (options.advice === true) judged.view.advice = adviceFor(scene, spot, standing, dish, judged, k, options);
    return judged.view;
  });
}

/** A measured skyline says what the data may not know; it has no distance, so it counts as a hard object without width. */
function applyMeasured(
  view: SatelliteView,
  dish: DishSettings,
  measured: { horizon: MeasuredHorizon; mode: "tighten" | "replace" },
): void {
  const found = measuredClearance(measured.horizon, view.azimuthDeg, view.elevationDeg, dish.marginDeg);
  if (found === null) {
    view.notes.push("The measured horizon has a gap at this satellite: the computed one holds.");
    return;
  }
  const replace = measured.mode === "replace";
  if (!replace && view.clearanceDeg !== null && view.clearanceDeg <= found.clearanceDeg) return;
  const clear = found.clearanceDeg >= dish.marginDeg && view.elevationDeg >= dish.minElevationDeg;
  view.clearanceDeg = found.clearanceDeg;
  view.neededDeg = dish.marginDeg;
  if (replace) {
    view.clear = clear;
    view.treeClearanceDeg = null;
    view.opensLeafOff = false;
  } else view.clear = clear ? view.clear : false;
  if (!clear)
    view.blockedBy = {
      kind: "measured-horizon",
      id: null,
      name: found.what === "" ? "the measured horizon" : found.what,
      distanceM: 0,
      azimuthDeg: found.azimuthDeg,
      topAmslM: null,
      intrusionM: 0,
    };
  else if (replace) view.blockedBy = null;
  view.notes.push(
    `Clearance from the horizon measured at ${measured.horizon.eyeHeightM} m: its readings have no distance, so the dish's width is not in it.`,
  );
}
