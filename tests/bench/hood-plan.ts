import { copyFileSync, mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { TERMINALS, UNIT } from "../../data-samples/unit.ts";
import { fromUtm } from "../../src/geodesy/index.ts";
import { seeded } from "../support/random-profile.ts";
import { shared } from "../support/tools.ts";

const RASTER = "mt_hood_elev_30m_utm10.tif";
// Corners of the raster in UTM zone 10 north, m, as its header gives them.
const [WEST, NORTH, EAST, SOUTH] = [587_049.618, 5_037_312.407, 617_439.618, 5_013_342.407];
/** The parking polygon's edge lies this far inside the raster's. */
const INSET_M = 30;
const POINTS = 20;

const lngLat = (eastingM: number, northingM: number): [number, number] => {
  const p = fromUtm({ zone: 10, north: true, eastingM, northingM });
  return [p.lng, p.lat];
};

/**
 * A plan of its own folder with all of Mt Hood (LANDFIRE elevation, public domain) as one parking area and twenty drawn points.
 * Service, terminal and dish are the samples'; places are drawn with a fixed seed.
 * @returns path of the plan; the caller removes its folder
 */
export function writeHoodPlan(): string {
  const folder = mkdtempSync(join(tmpdir(), "hardstand-bench-"));
  copyFileSync(shared("terrain", RASTER), join(folder, RASTER));
  const random = seeded(7);
  const [w, n, e, s] = [WEST + INSET_M, NORTH - INSET_M, EAST - INSET_M, SOUTH + INSET_M];
  const ring = [
    [w, n],
    [w, s],
    [e, s],
    [e, n],
    [w, n],
  ].map(([x, y]) => lngLat(x!, y!));
  const points = Array.from({ length: POINTS }, (_, i) => ({
    type: "Feature",
    geometry: {
      type: "Point",
      coordinates: lngLat(w + (e - w) * (0.3 + 0.4 * random()), s + (n - s) * (0.3 + 0.4 * random())),
    },
    properties: {
      id: `p${i + 1}`,
      rung: i < 4 ? "must" : i < 12 ? "should" : "nice",
      needs: i % 4 === 0 ? ["cell/talk", "cell/video"] : ["cell/talk"],
      terminal: i % 3 === 0 ? "modem" : "phone",
    },
  }));
  const plan = {
    format: "hardstand-plan",
    version: 1,
    name: "Mountain, whole raster as parking",
    notes: "Made for timing: places are drawn, not chosen.",
    date: "2026-09-12",
    terrain: { ground: [{ file: RASTER, unit: "m", verticalDatum: "navd88" }] },
    unit: UNIT,
    terminals: TERMINALS,
    satellites: [
      { id: "w101", name: "101° W", longitudeDeg: -101, role: "primary" },
      { id: "w119", name: "119° W", longitudeDeg: -119, role: "alternate" },
    ],
    points: { type: "FeatureCollection", features: points },
    parking: {
      type: "FeatureCollection",
      features: [
        {
          type: "Feature",
          geometry: { type: "Polygon", coordinates: [ring] },
          properties: { id: "everywhere", name: "Everywhere" },
        },
      ],
    },
  };
  const path = join(folder, "mountain.plan.json");
  writeFileSync(path, JSON.stringify(plan, null, 2));
  return path;
}
