import type { DishSpec } from "../plan/types.ts";

/** A dish with every setting filled in: what the sky view takes. */
export interface DishSettings {
  diameterM: number;
  /** Dish centre above what it stands on, m. */
  eyeHeightM: number;
  /** Margin to hard objects and to trees, degrees. */
  marginDeg: number;
  treeMarginDeg: number;
  /** A satellite lower than this does not count as clear, degrees. */
  minElevationDeg: number;
  /** The dish may stand apart from the unit, within its cable. */
  apart: boolean;
  cableM: number;
  roofSetbackM: number;
  parapetM: number;
  /** Data may end where the tube's lower edge is at least this far above the eye, m. */
  dataEdgeHeightM: number;
  /** Growth of trees since the canopy was measured, m. */
  growthM: number;
  downlinkGHz: number | null;
  uplinkGHz: number | null;
  polarization: "vertical" | "horizontal" | "circular";
  rainMmPerH: number | null;
  availabilityPct: number | null;
  marginDb: number | null;
}

/**
 * Fills the defaults of a plan's dish.
 * Margins 5° (hard objects) and 10° (trees), least elevation 10°, cable 40 m: common practice, no source.
 * Setback from a roof edge 4.6 m: the 15 ft of 29 CFR 1910.28 (cited from memory), taken as common practice.
 * @param growthM  growth of trees since the canopy was measured, m; pass 0 where the scene's canopy already holds it
 */
export function dishSettings(dish: DishSpec, growthM = 0): DishSettings {
  return {
    diameterM: dish.diameterM,
    eyeHeightM: dish.eyeHeightM,
    marginDeg: dish.marginDeg ?? 5,
    treeMarginDeg: dish.treeMarginDeg ?? Math.max(10, dish.marginDeg ?? 5),
    minElevationDeg: dish.minElevationDeg ?? 10,
    apart: dish.apart ?? false,
    cableM: dish.cableM ?? 40,
    roofSetbackM: dish.roofSetbackM ?? 4.6,
    parapetM: dish.parapetM ?? 0,
    dataEdgeHeightM: dish.dataEdgeHeightM ?? 50,
    growthM,
    downlinkGHz: dish.downlinkGHz ?? null,
    uplinkGHz: dish.uplinkGHz ?? null,
    polarization: dish.polarization ?? "vertical",
    rainMmPerH: dish.rainMmPerH ?? null,
    availabilityPct: dish.availabilityPct ?? null,
    marginDb: dish.marginDb ?? null,
  };
}
