import type { SatelliteView } from "../plan/outputs/types.ts";
import type { Satellite } from "../plan/types.ts";
import type { Scene } from "../terrain/scene.ts";
import type { DishSettings } from "./dish.ts";
import { defaultK, judge, type SkySpot, type SkyWhen, standAt, type ViewOptions } from "./view.ts";

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
  const standing = standAt(scene, spot, dish, when.date);
  return satellites.map((s) => judge(scene, spot, standing, dish, s, when, defaultK(options)).view);
}
