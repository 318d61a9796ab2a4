import { join } from "node:path";
import { rankingCsv, spotsGeoJson } from "../../src/report/ranking-files.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import type { RankResult } from "../engine.ts";
import { encodeGeoTiff } from "./geotiff.ts";
import { writeFilesSafe } from "./write-file.ts";

/** Writes ranking.json, ranking.csv, spots.geojson and suitability.tif into a folder, all or none. */
export async function writeRanking(folder: string, result: RankResult, scene: Scene): Promise<string[]> {
  const { answer, surface } = result;
  const files = [
    { path: join(folder, "ranking.json"), bytes: `${JSON.stringify(answer, null, 1)}\n` },
    { path: join(folder, "ranking.csv"), bytes: rankingCsv(answer) },
    { path: join(folder, "spots.geojson"), bytes: `${JSON.stringify(spotsGeoJson(answer))}\n` },
    {
      path: join(folder, "suitability.tif"),
      bytes: encodeGeoTiff({
        grid: surface.grid,
        origin: scene.frame.origin,
        bands: [
          { name: "score 0-100", values: surface.scorePct },
          {
            name: "reason (0 none, 1 footprint, 2 slope, 3 keep-out, 4 water, 5 obstacle, 6 power-line, 7 crowd, 8 opening, 9 sky, 255 unknown)",
            values: Float32Array.from(surface.reason),
          },
        ],
      }),
    },
  ];
  await writeFilesSafe(files);
  return files.map((f) => f.path);
}
