import { serializePlan } from "../src/plan/parse.ts";
import { fairgroundLayers, GRID } from "./fairground-ground.ts";
import { CORNER, fairgroundBuildings, fairgroundPlan } from "./fairground-plan.ts";
import { sampleRaster, writeSample } from "./write.ts";

/** The seed of the kept fairground. */
export const SEED = 20260912;

/** The files that are text, by name. */
export function fairgroundTexts(): Record<string, string> {
  return {
    "buildings.geojson": `${JSON.stringify(fairgroundBuildings())}\n`,
    "fairground.plan.json": serializePlan(fairgroundPlan()),
  };
}

await writeSample(import.meta.url, "fairground", () => {
  const { ground, surface, canopy } = fairgroundLayers(SEED);
  return {
    "ground.tif": sampleRaster(ground, GRID, CORNER, "Invented bare earth, above sea level", true),
    "surface.tif": sampleRaster(surface, GRID, CORNER, "Invented tops of trees and buildings, above sea level", true),
    "canopy.tif": sampleRaster(canopy, GRID, CORNER, "Invented vegetation, above ground", false),
    ...fairgroundTexts(),
  };
});
