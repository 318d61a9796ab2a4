import type { SkyAnswer } from "../plan/outputs/types.ts";
import type { Satellite } from "../plan/types.ts";
import type { Scene } from "../terrain/scene.ts";
import { EARTH_RADIUS_KM } from "../units/index.ts";
import { ROOF_CAUTION } from "./advice.ts";
import type { DishSettings } from "./dish.ts";
import { skyline } from "./horizon.ts";
import { visibleArc } from "./look-angles.ts";
import { horizonDifferences, mergeHorizon } from "./measured-horizon.ts";
import { defaultK, type SkySpot, type SkyWhen, standAt } from "./view.ts";
import { type ViewOptions, viewsFrom } from "./view-from-spot.ts";

const CAUTIONS = [
  "A compass near steel reads wrong by 5–10° (common practice, no source): step away, use a landmark or the sun.",
  "Nobody stands in front of the dish or reaches between feed and reflector while it transmits.",
  "Prediction, not a promise: look along the bearing before anyone unhitches.",
];

/**
 * The whole sky from a spot: every satellite, the skyline in 720 azimuths, and the geostationary arc.
 * Parameters and errors as viewFromSpot, but advice is given unless refused; the measured horizon, when given, is laid over the computed skyline and their
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
    satellites: viewsFrom(scene, spot, standing, dish, satellites, when, { advice: true, ...options }),
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
