import type { SkyAnswer } from "../plan/outputs/types.ts";
import type { Satellite } from "../plan/types.ts";
import type { Scene } from "../terrain/scene.ts";
import { EARTH_RADIUS_KM } from "../units/index.ts";
import type { DishSettings } from "./dish.ts";
import { skyline } from "./horizon.ts";
import { visibleArc } from "./look-angles.ts";
import { defaultK, judge, type SkySpot, type SkyWhen, standAt, type ViewOptions } from "./view.ts";

const CAUTIONS = [
  "A compass near steel reads wrong by 5–10° (common practice, no source): step away, use a landmark or the sun.",
  "Nobody stands in front of the dish or reaches between feed and reflector while it transmits.",
  "Prediction, not a promise: look along the bearing before anyone unhitches.",
];
const ROOF_CAUTION =
  "On a roof: access, load, fall protection at the edge, the owner's consent and a structural check come first; local codes and licensed practice win.";

/**
 * The whole sky of one spot: every satellite judged, the skyline round it, and the geostationary arc.
 * Parameters and errors as viewFromSpot; heights m, angles degrees from true north.
 */
export function skyFromSpot(
  scene: Scene,
  spot: SkySpot,
  dish: DishSettings,
  satellites: readonly Satellite[],
  when: SkyWhen,
  options: ViewOptions = {},
): SkyAnswer {
  const k = defaultK(options);
  const standing = standAt(scene, spot, dish, when.date);
  const arc = visibleArc({ ...spot.place, heightM: 0 }, when.declinationDeg).map((r) => ({
    satelliteDeg: r.satelliteDeg,
    azimuthDeg: r.azimuthDeg,
    elevationDeg: r.elevationDeg,
  }));
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
    satellites: satellites.map((s) => judge(scene, spot, standing, dish, s, when, k).view),
    horizon: skyline(scene, spot.place, standing.eye, standing.active, dish, k * EARTH_RADIUS_KM * 1000),
    arc,
    cautions: standing.onBuilding === null ? CAUTIONS : [...CAUTIONS, ROOF_CAUTION],
    warnings: scene.warnings.map((w) => ({ ...w })),
  };
}
