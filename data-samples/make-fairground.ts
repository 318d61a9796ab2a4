import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { encodeRaster } from "../server/export/geotiff.ts";
import { serializePlan } from "../src/plan/parse.ts";
import { fairgroundLayers, SIDE_M } from "./fairground-ground.ts";
import { CORNER, fairgroundBuildings, fairgroundPlan } from "./fairground-plan.ts";

/** The seed of the kept fairground. */
export const SEED = 20260912;

/** The files that are text, by name. */
export function fairgroundTexts(): Record<string, string> {
  return {
    "buildings.geojson": `${JSON.stringify(fairgroundBuildings())}\n`,
    "fairground.plan.json": serializePlan(fairgroundPlan()),
  };
}

/** Every file of the fairground by name, the same cells at every run. */
function fairgroundFiles(): Record<string, Uint8Array | string> {
  const { ground, surface, canopy } = fairgroundLayers(SEED);
  const raster = (samples: Float32Array, description: string, verticalEpsg?: number) =>
    encodeRaster({
      width: SIDE_M,
      height: SIDE_M,
      bands: [{ values: samples, name: description, unit: "m" }],
      west: CORNER.easting,
      north: CORNER.northing + SIDE_M,
      cell: 1,
      system: { epsg: 32614 },
      ...(verticalEpsg === undefined ? {} : { verticalEpsg }),
    });
  return {
    "ground.tif": raster(ground, "Invented bare earth, m above sea level", 5703),
    "surface.tif": raster(surface, "Invented tops of trees and buildings, m above sea level", 5703),
    "canopy.tif": raster(canopy, "Invented height of trees above ground, m"),
    ...fairgroundTexts(),
  };
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) {
  const folder = join(import.meta.dirname, "fairground");
  await mkdir(folder, { recursive: true });
  for (const [name, content] of Object.entries(fairgroundFiles())) {
    await writeFile(join(folder, name), content);
    console.log(`${name}  ${(content.length / 1e6).toFixed(2)} MB`);
  }
}
