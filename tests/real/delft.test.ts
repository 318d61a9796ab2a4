import { readFileSync } from "node:fs";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { createEngine } from "../../server/engine/create.ts";
import type { RankAnswer, SkyAnswer } from "../../src/plan/outputs/types.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import { hasShared, shared } from "../support/tools.ts";
import { planOn, pointFeature, square, terminals, unit } from "./support.ts";

const can = hasShared();
const SATELLITE = 19;

interface Outline {
  id: string;
  ring: [number, number][];
  topM: number;
}

describe.skipIf(!can)("Delft, 0.5 m with 160 outlines", () => {
  let answer: RankAnswer;
  let scene: Scene;
  const skies: { sky: SkyAnswer; xM: number; yM: number }[] = [];
  let outlines: Outline[];
  let remove = (): void => undefined;
  const engine = createEngine({ threads: 2 });

  beforeAll(async () => {
    const files = [
      "terrain/delft_ahn3_dtm_05m.tif",
      "terrain/delft_ahn3_dsm_05m.tif",
      "terrain/delft_buildings.geojson",
    ].map((f) => shared(f));
    const plan = {
      name: "Canal quarter",
      terrain: {
        ground: ["delft_ahn3_dtm_05m.tif"],
        surface: ["delft_ahn3_dsm_05m.tif"],
        buildings: "delft_buildings.geojson",
        cellM: 0.5,
        marginM: 20,
      },
      unit: { ...unit, footprintM: [4, 4] },
      terminals,
      satellites: [{ id: "e19", longitudeDeg: SATELLITE }],
      points: {
        type: "FeatureCollection",
        features: [
          pointFeature("bridge", "must", 4.3668, 52.0118),
          pointFeature("gate", "should", 4.3682, 52.0114),
          pointFeature("quay", "nice", 4.3662, 52.0122),
        ],
      },
      parking: {
        type: "FeatureCollection",
        features: [
          {
            type: "Feature",
            geometry: { type: "Polygon", coordinates: [square(4.3672, 52.0117, 0.0009, 0.0005)] },
            properties: { id: "quarter", name: "Quarter" },
          },
        ],
      },
      search: { shortlist: 5, separationM: 15, draws: 20 },
    };
    const made = await planOn(files, plan);
    ({ scene, remove } = made);
    answer = (await engine.rank(made.loaded, scene, {})).answer;
    const collection = JSON.parse(readFileSync(files[2]!, "utf8")) as {
      features: { properties: { id: string }; geometry: { coordinates: number[][][] } }[];
    };
    outlines = collection.features.map((f) => ({
      id: f.properties.id,
      ring: f.geometry.coordinates[0]!.map((c) => {
        const p = scene.frame.toXY({ lng: c[0]!, lat: c[1]! });
        return [p.xM, p.yM];
      }),
      topM: scene.buildings.find((b) => b.id === f.properties.id)!.topAmslM,
    }));
    // Houses by their outlines alone over bare ground: trees and roof ridges of the surface would answer otherwise.
    const bare = await planOn([files[0]!, files[2]!], {
      ...plan,
      terrain: { ground: ["delft_ahn3_dtm_05m.tif"], buildings: "delft_buildings.geojson", cellM: 0.5, marginM: 20 },
    });
    const removeRanked = remove;
    remove = () => {
      removeRanked();
      bare.remove();
    };
    // Places north of a house on known ground: every house whose north side is open within 6 m.
    for (const o of outlines) {
      const xs = o.ring.map((p) => p[0]);
      const at = { xM: (Math.min(...xs) + Math.max(...xs)) / 2, yM: Math.max(...o.ring.map((p) => p[1])) + 4 };
      if (outlines.some((other) => inside(other.ring, at.xM, at.yM))) continue;
      const place = scene.frame.toLngLat(at);
      try {
        skies.push({ sky: await engine.sky(bare.loaded, bare.scene, place), ...at });
      } catch {
        // No ground data here.
      }
    }
  });
  afterAll(async () => {
    await engine.close?.();
    remove();
  });

  test("spots are ranked, stand clear of every outline, and slope is known", () => {
    expect(answer.spots.length).toBeGreaterThan(0);
    for (const spot of answer.spots) {
      const at = scene.frame.toXY(spot);
      expect(outlines.filter((o) => inside(o.ring, at.xM, at.yM))).toEqual([]);
      expect(spot.checks.find((c) => c.id === "slope")!.value).not.toBeNull();
    }
    expect(answer.rejected.some((r) => r.reason === "obstacle")).toBe(true);
  });

  test("a ray that an exact test finds inside a house is reported blocked, by the id of a house the ray passes through", () => {
    let blocked = 0;
    let alone = 0;
    for (const { sky, xM, yM } of skies) {
      const view = sky.satellites[0]!;
      const hits = outlines.filter((o) => rayHits(o, xM, yM, sky.eyeAmslM!, view.azimuthDeg, view.elevationDeg));
      if (hits.length === 0) continue;
      blocked++;
      expect(view.clear).toBe(false);
      expect(view.clearanceDeg!).toBeLessThan(0);
      expect(view.blockedBy!.kind).toBe("building");
      // Named is what needs most lift anywhere in the tube: a house on the ray, or one the tube's rim touches beside it.
      const inTube = new Set(hits.map((h) => h.id));
      for (let beta = -5; beta <= 5; beta += 0.25) {
        const side = 0.45 * Math.sign(beta);
        const a = (view.azimuthDeg * Math.PI) / 180;
        for (const o of outlines)
          if (
            rayHits(
              o,
              xM + side * Math.cos(a),
              yM - side * Math.sin(a),
              sky.eyeAmslM!,
              view.azimuthDeg + beta,
              view.elevationDeg - 5,
            )
          )
            inTube.add(o.id);
      }
      expect([...inTube]).toContain(view.blockedBy!.id);
      if (inTube.size === 1) {
        alone++;
        expect(view.blockedBy!.id).toBe(hits[0]!.id);
      }
    }
    expect(blocked).toBeGreaterThan(10);
    expect(alone).toBeGreaterThan(3);
  });
});

function inside(ring: readonly [number, number][], x: number, y: number): boolean {
  let odd = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i]!;
    const [xj, yj] = ring[j]!;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
  }
  return odd;
}

/** Exact: does the straight ray enter the prism? It does where it crosses a wall below the top. */
function rayHits(o: Outline, x: number, y: number, eyeM: number, azimuthDeg: number, elevationDeg: number): boolean {
  const a = (azimuthDeg * Math.PI) / 180;
  const [ux, uy] = [Math.sin(a), Math.cos(a)];
  const slope = Math.tan((elevationDeg * Math.PI) / 180);
  for (let i = 1; i < o.ring.length; i++) {
    const [x1, y1] = o.ring[i - 1]!;
    const [x2, y2] = o.ring[i]!;
    const det = ux * (y1 - y2) - uy * (x1 - x2);
    if (Math.abs(det) < 1e-12) continue;
    const along = ((x1 - x) * (y1 - y2) - (y1 - y) * (x1 - x2)) / det;
    const u = (ux * (y1 - y) - uy * (x1 - x)) / det;
    // A hair inside, so that a wall that is only touched does not count.
    if (along > 0 && u >= 0 && u <= 1 && eyeM + along * slope < o.topM - 0.05) return true;
  }
  return false;
}
