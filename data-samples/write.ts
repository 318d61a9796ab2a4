import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { encodeRaster } from "../server/export/geotiff.ts";
import type { Grid } from "../src/terrain/scene.ts";
import type { Corner } from "./features.ts";

/** A sample's raster in its UTM zone; heights above sea level are said to be NAVD 88. */
export function sampleRaster(
  values: Float32Array,
  grid: Grid,
  corner: Corner,
  name: string,
  aboveSea: boolean,
): Uint8Array {
  return encodeRaster({
    width: grid.cols,
    height: grid.rows,
    bands: [{ values, name, unit: "m" }],
    west: corner.eastingM + grid.westM,
    north: corner.northingM + grid.northM,
    cell: grid.cellM,
    system: { epsg: 32600 + corner.zone },
    ...(aboveSea ? { verticalEpsg: 5703 } : {}),
  });
}

/** How a plan names such a raster. */
export const rasterEntry = (file: string, heightSdM: number) => ({
  file,
  unit: "m" as const,
  verticalDatum: "navd88" as const,
  date: "2023",
  heightSdM,
});

/** Writes a sample's files into its folder when its script is the one that was started. */
export async function writeSample(
  script: string,
  name: string,
  make: () => Record<string, Uint8Array | string>,
): Promise<void> {
  if (script !== pathToFileURL(process.argv[1] ?? "").href) return;
  const folder = join(import.meta.dirname, name);
  await mkdir(folder, { recursive: true });
  for (const [file, content] of Object.entries(make())) {
    await writeFile(join(folder, file), content);
    console.log(`${file}  ${(content.length / 1e6).toFixed(2)} MB`);
  }
}
