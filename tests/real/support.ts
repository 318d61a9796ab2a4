import { copyFileSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import type { Position } from "geojson";
import { openPlan } from "../../server/engine/open-scene.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import type { Scene } from "../../src/terrain/scene.ts";

export const square = (lng: number, lat: number, halfLng: number, halfLat: number): Position[] => [
  [lng - halfLng, lat - halfLat],
  [lng + halfLng, lat - halfLat],
  [lng + halfLng, lat + halfLat],
  [lng - halfLng, lat + halfLat],
  [lng - halfLng, lat - halfLat],
];

export const pointFeature = (id: string, rung: string, lng: number, lat: number) => ({
  type: "Feature",
  geometry: { type: "Point", coordinates: [lng, lat] },
  properties: { id, name: id, rung, needs: ["cell/talk"] },
});

/** A plan of our own over outside rasters, in a folder that the caller removes. */
export async function planOn(
  files: string[],
  plan: object,
): Promise<{ loaded: LoadedPlan; scene: Scene; folder: string; remove: () => void }> {
  const folder = mkdtempSync(join(tmpdir(), "hs-real-"));
  for (const f of files) copyFileSync(f, join(folder, basename(f)));
  const path = join(folder, "real.plan.json");
  writeFileSync(path, JSON.stringify({ format: "hardstand-plan", version: 1, date: "2026-06-01", ...plan }));
  const { loaded, scene } = await openPlan(path, {});
  return { loaded, scene, folder, remove: () => rmSync(folder, { recursive: true, force: true }) };
}

export const unit = {
  tipHeightM: 6,
  footprintM: [10, 10],
  services: [
    {
      id: "cell",
      kind: "lte",
      downlinkMHz: 763,
      uplinkMHz: 793,
      channelMHz: 10,
      txPowerDbm: 36,
      cableLossDb: 1.5,
      antenna: { pattern: "omni", gainDbi: 9 },
      needs: [{ id: "talk", rsrpDbm: -115, downlinkMbps: 0.1, uplinkMbps: 0.1 }],
    },
  ],
  dish: { diameterM: 0.9, eyeHeightM: 1.6 },
};
export const terminals = [{ id: "phone", powerDbm: 23, gainDbi: -1, bodyLossDb: 3, heightM: 1.5 }];
