import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { onTestFinished } from "vitest";
import { ORIGIN } from "./fake-engine.ts";
import { samplePlan } from "./sample-plan.ts";

/** A folder that goes away when the test ends. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), "hs-test-"));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

const points = {
  type: "FeatureCollection",
  features: [
    {
      type: "Feature",
      geometry: { type: "Point", coordinates: [ORIGIN.lng + 0.0005, ORIGIN.lat + 0.0002] },
      properties: {
        id: "tent",
        name: "Medical tent",
        code: "MD",
        rung: "must",
        needs: ["cell/talk"],
        terminal: "phone",
      },
    },
  ],
};

/** A samples folder with one sample in it. */
export function samplesFolder(): string {
  const root = temporaryFolder();
  const folder = join(root, "meadow");
  mkdirSync(folder);
  writeFileSync(join(folder, "meadow.plan.json"), JSON.stringify(samplePlan()));
  writeFileSync(join(folder, "points.geojson"), JSON.stringify(points));
  writeFileSync(join(folder, "ground.tif"), "not a real raster");
  writeFileSync(join(folder, "canopy.tif"), "nor this");
  return root;
}
