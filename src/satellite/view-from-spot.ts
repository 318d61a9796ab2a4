import type { SatelliteView, SkyAnswer } from "../plan/outputs/types.ts";
import type { Satellite } from "../plan/types.ts";
import type { Scene } from "../terrain/scene.ts";
import { EARTH_RADIUS_KM } from "../units/index.ts";
import { type AdviceOptions, adviceFor, ROOF_CAUTION } from "./advice.ts";
import type { DishSettings } from "./dish.ts";
import { skyline } from "./horizon.ts";
import { visibleArc } from "./look-angles.ts";
import { horizonDifferences, type MeasuredHorizon, measuredClearance, mergeHorizon } from "./measured-horizon.ts";
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
  /** Advice for satellites that are not clear; default true. Leave it out where many spots are compared. */
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
  return views(scene, spot, standAt(scene, spot, dish, when.date), dish, satellites, when, options);
}

function views(
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
    if (options.advice !== false) judged.view.advice = adviceFor(scene, spot, standing, dish, judged, k, options);
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

const CAUTIONS = [
  "Prediction, not a promise: check with compass and clinometer before unhitching.",
  "A compass near steel reads wrong by 5 to 10°: step away from the vehicle, or take a landmark's bearing.",
  "Keep people out of the dish's beam and from between feed and reflector.",
];

/**
 * The whole sky from a spot: every satellite, the skyline in 720 azimuths, and the geostationary arc.
 * Parameters and errors as viewFromSpot; the measured horizon, when given, is laid over the computed skyline and their
 * disagreements beyond 2° are listed among the warnings.
 */
export function skyFromSpot(
  scene: Scene,
  spot: SkySpot,
  dish: DishSettings,
  satellites: readonly Satellite[],
  when: SkyWhen,
  options: ViewOptions = {},
): SkyAnswer {
  const standing = standAt(scene, spot, dish, when.date);
  const k = defaultK(options);
  const computed = skyline(scene, spot.place, standing.eye, standing.active, dish, k * EARTH_RADIUS_KM * 1000);
  const warnings = [...scene.warnings];
  let horizon = computed;
  if (options.measured !== undefined) {
    horizon = mergeHorizon(options.measured.horizon, computed, options.measured.mode);
    warnings.push(...options.measured.horizon.warnings);
    for (const d of horizonDifferences(options.measured.horizon, computed))
      warnings.push({
        code: "sky.horizon-disagrees",
        text: `At ${d.azimuthDeg.toFixed(0)}° the measured horizon is ${d.measuredDeg.toFixed(1)}°, the computed one ${d.computedDeg.toFixed(1)}°: ${d.differenceDeg > 0 ? "more stands there than the data say" : "less stands there than the data say"}.`,
      });
    if (Math.abs(options.measured.horizon.eyeHeightM - standing.eyeHeightM) > 0.5)
      warnings.push({
        code: "sky.horizon-eye-height",
        text: `The horizon was measured at ${options.measured.horizon.eyeHeightM} m, the dish stands at ${standing.eyeHeightM} m: near objects look lower from higher up.`,
      });
  }
  const site = { ...spot.place, heightM: standing.eye.amslM };
  return {
    lng: spot.place.lng,
    lat: spot.place.lat,
    groundAmslM: standing.groundAmslM,
    eyeHeightM: standing.eyeHeightM,
    eyeAmslM: standing.eye.amslM,
    onBuilding: standing.onBuilding,
    declinationDeg: when.declinationDeg,
    declinationModel: when.model,
    date: when.date,
    k,
    satellites: views(scene, spot, standing, dish, satellites, when, options),
    horizon,
    arc: visibleArc(site, when.declinationDeg).map(({ satelliteDeg, azimuthDeg, elevationDeg }) => ({
      satelliteDeg,
      azimuthDeg,
      elevationDeg,
    })),
    cautions: standing.onBuilding === null ? CAUTIONS : [...CAUTIONS, ROOF_CAUTION],
    warnings,
  };
}

export interface ApartPlace {
  lng: number;
  lat: number;
  onBuilding: string | null;
  distanceM: number;
  text: string;
}

/**
 * Where the dish could stand apart from the unit, within its cable, so that a satellite is clear: the unit's own spot, the
 * nearest ground, or a roof; null where nothing is. Used where the plan says `dish.apart`.
 */
export function apartPlace(
  scene: Scene,
  spot: SkySpot,
  dish: DishSettings,
  satellite: Satellite,
  when: SkyWhen,
  options: ViewOptions = {},
): ApartPlace | null {
  const apart = { ...dish, apart: true };
  const view = viewFromSpot(scene, spot, apart, [satellite], when, { ...options, searchM: dish.cableM })[0]!;
  if (view.clear === true)
    return { ...spot.place, onBuilding: spot.onBuilding ?? null, distanceM: 0, text: "The dish stands at the unit." };
  const found = view.advice.find((a) => a.kind === "move") ?? view.advice.find((a) => a.kind === "roof");
  if (found?.lng === undefined || found.lat === undefined) return null;
  return {
    lng: found.lng,
    lat: found.lat,
    onBuilding: found.buildingId ?? null,
    distanceM: found.distanceM ?? 0,
    text: found.text,
  };
}
