import type { Satellite } from "../plan/types.ts";
import type { Scene } from "../terrain/scene.ts";
import type { DishSettings } from "./dish.ts";
import type { SkySpot, SkyWhen } from "./view.ts";
import { type ViewOptions, viewFromSpot } from "./view-from-spot.ts";

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
  const view = viewFromSpot(scene, spot, apart, [satellite], when, {
    ...options,
    advice: true,
    searchM: dish.cableM,
  })[0]!;
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
