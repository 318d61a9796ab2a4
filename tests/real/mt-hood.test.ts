import proj4 from "proj4";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { createEngine } from "../../server/engine/create.ts";
import type { PathAnswer, RankAnswer } from "../../src/plan/outputs/types.ts";
import { referenceLoss } from "../support/reference-loss.ts";
import { gdalRaster, type PlainRaster } from "../support/sweep-rasters.ts";
import { hasShared, needs, shared } from "../support/tools.ts";
import { planOn, pointFeature, square, terminals, unit } from "./support.ts";

const can = needs("gdalwarp") && hasShared();
const utm = proj4("EPSG:4326", "+proj=utm +zone=10 +datum=NAD83 +units=m +no_defs");
// Upper left corner and cell of the raster, as gdalinfo prints them, are read through its own world file fields.
const CELL = 30;

/** Points below, beside and behind the mountain; invented for the test. */
const PARKING = square(-121.7, 45.31, 0.012, 0.008);
const POINTS = [
  pointFeature("lodge", "must", -121.711, 45.3311),
  pointFeature("valley", "should", -121.66, 45.29),
  pointFeature("behind", "nice", -121.69, 45.42),
  pointFeature("east", "nice", -121.6, 45.33),
];

describe.skipIf(!can)("Mt Hood, 30 m", () => {
  let ground: PlainRaster;
  let origin: [number, number];
  let answer: RankAnswer;
  const paths = new Map<string, PathAnswer>();
  let remove = (): void => undefined;
  const engine = createEngine({ threads: 2 });

  /** Height straight from GDAL's copy of the raster, bilinear in its own grid. */
  const heightM = (lng: number, lat: number): number => {
    const [x, y] = utm.forward([lng, lat]) as [number, number];
    const c = (x - origin[0]) / CELL - 0.5;
    const r = (origin[1] - y) / CELL - 0.5;
    const c0 = Math.floor(c);
    const r0 = Math.floor(r);
    const v = (dc: number, dr: number): number => ground.values[(r0 + dr) * ground.cols + c0 + dc]!;
    const fc = c - c0;
    const fr = r - r0;
    return (v(0, 0) * (1 - fc) + v(1, 0) * fc) * (1 - fr) + (v(0, 1) * (1 - fc) + v(1, 1) * fc) * fr;
  };

  beforeAll(async () => {
    const file = shared("terrain/mt_hood_elev_30m_utm10.tif");
    ground = gdalRaster(file);
    const { spawnSync } = await import("node:child_process");
    const info = JSON.parse(spawnSync("gdalinfo", ["-json", file], { encoding: "utf8" }).stdout) as {
      geoTransform: number[];
    };
    origin = [info.geoTransform[0]!, info.geoTransform[3]!];
    const made = await planOn([file], {
      name: "South side",
      terrain: { ground: ["mt_hood_elev_30m_utm10.tif"] },
      unit,
      terminals,
      satellites: [{ id: "w101", longitudeDeg: -101 }],
      points: { type: "FeatureCollection", features: POINTS },
      parking: {
        type: "FeatureCollection",
        features: [
          {
            type: "Feature",
            geometry: { type: "Polygon", coordinates: [PARKING] },
            properties: { id: "south", name: "South slope" },
          },
        ],
      },
      search: { shortlist: 5, separationM: 200, draws: 50 },
    });
    remove = made.remove;
    answer = (await engine.rank(made.loaded, made.scene, {})).answer;
    const first = answer.spots[0]!;
    for (const p of POINTS) {
      const [lng, lat] = p.geometry.coordinates as [number, number];
      paths.set(
        p.properties.id,
        await engine.path(made.loaded, made.scene, first, { lng, lat }, "cell", p.properties.id),
      );
    }
  });
  afterAll(async () => {
    await engine.close?.();
    remove();
  });

  /** The straight path in UTM, sampled by the test itself. */
  const profile = (id: string): { d: number[]; h: number[]; distanceKm: number } => {
    const a = utm.forward([answer.spots[0]!.lng, answer.spots[0]!.lat]) as [number, number];
    const b = utm.forward(POINTS.find((p) => p.properties.id === id)!.geometry.coordinates as [number, number]) as [
      number,
      number,
    ];
    // UTM's own scale is taken out: ground distance is grid distance over k.
    const k = 0.9996 * (1 + ((a[0] - 500_000) / 6_378_000) ** 2 / 2);
    const distanceKm = Math.hypot(b[0] - a[0], b[1] - a[1]) / k / 1000;
    const n = Math.ceil((distanceKm * 1000) / CELL);
    const d: number[] = [];
    const h: number[] = [];
    for (let i = 0; i <= n; i++) {
      const t = i / n;
      const [lng, lat] = utm.inverse([a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]) as [number, number];
      d.push(distanceKm * t);
      h.push(heightM(lng, lat));
    }
    return { d, h, distanceKm };
  };

  test("spots are ranked, and 30 m ground leaves slope a caution, never a no-go", () => {
    expect(answer.spots.length).toBeGreaterThanOrEqual(3);
    const slope = answer.spots[0]!.checks.find((c) => c.id === "slope")!;
    expect(slope.status).toBe("caution");
    expect(slope.value).toBeNull();
    expect(answer.rejected.some((r) => r.reason === "slope")).toBe(false);
  });

  test.each(["lodge", "valley", "behind", "east"])("%s loses what delta-Bullington says over GDAL's heights", (id) => {
    const { d, h } = profile(id);
    const path = paths.get(id)!;
    const radiusKm = (6371 * 157) / (157 - 45);
    const own = referenceLoss(d, h, h, h[0]! + 6, h[h.length - 1]! + 1.5, {
      frequencyMHz: 763,
      effectiveRadiusKm: radiusKm,
      polarization: "vertical",
    });
    // Two ways of sampling 30 m ground (grid lines of two projections) differ by up to a decibel behind sharp edges.
    expect(Math.abs(path.parts.Ld50! - own.Ld)).toBeLessThan(1.5);
    expect(path.lossDb!).toBeGreaterThanOrEqual(path.parts.Lbfs!);
  });

  test("behind the mountain is behind it: blocked by a straight-line march, and tens of decibels down", () => {
    const { d, h, distanceKm } = profile("behind");
    const first = h[0]! + 6;
    const last = h[h.length - 1]! + 1.5;
    const blocked = h.some(
      (z, i) =>
        i > 0 &&
        i < h.length - 1 &&
        z > first + ((last - first) * d[i]!) / distanceKm - (d[i]! * (distanceKm - d[i]!)) / (2 * (4 / 3) * 6.371),
    );
    expect(blocked).toBe(true);
    const path = paths.get("behind")!;
    expect(path.lineOfSight).toBe(false);
    expect(path.parts.Ld50!).toBeGreaterThan(25);
    expect(path.worstObstruction?.kind).toBe("terrain");
  });

  test("line of sight of every path is what a straight-line march over GDAL's heights finds", () => {
    for (const [id, path] of paths) {
      const { d, h, distanceKm } = profile(id);
      const first = h[0]! + 6;
      const last = h[h.length - 1]! + 1.5;
      const gap = Math.min(
        ...h
          .slice(1, -1)
          .map(
            (z, i) =>
              first +
              ((last - first) * d[i + 1]!) / distanceKm -
              (d[i + 1]! * (distanceKm - d[i + 1]!)) / (2 * (4 / 3) * 6.371) -
              z,
          ),
      );
      // Grazing within the raster's own metre tells nothing either way.
      if (Math.abs(gap) > 1) expect(path.lineOfSight, id).toBe(gap > 0);
    }
  });
});
