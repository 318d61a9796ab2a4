import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import type { LngLat } from "../../src/geodesy/types.ts";
import type { Grid, Scene, SceneBuilding } from "../../src/terrain/scene.ts";
import { inside, testFrame } from "./scenes.ts";
import { shared } from "./tools.ts";

const SCRIPT = `
import sys, json
from osgeo import gdal
gdal.UseExceptions()
a = json.loads(sys.argv[1])
o = gdal.Warp('', a['file'], format='MEM', dstSRS=a['srs'], outputBounds=a['bounds'], xRes=a['cell'], yRes=a['cell'],
  resampleAlg=a['resample'], outputType=gdal.GDT_Float32, dstNodata=float('nan'))
sys.stdout.buffer.write(o.GetRasterBand(1).ReadAsArray().astype('<f4').tobytes())
`;

/** A raster on a grid of the transverse Mercator frame at `origin`, read and warped by GDAL (Debian's python3 osgeo). */
export function warpToGrid(file: string, origin: LngLat, grid: Grid, resample = "bilinear"): Float32Array {
  const srs = `+proj=tmerc +lat_0=${origin.lat} +lon_0=${origin.lng} +k=1 +x_0=0 +y_0=0 +ellps=WGS84 +units=m +no_defs`;
  const bounds = [grid.westM, grid.northM - grid.rows * grid.cellM, grid.westM + grid.cols * grid.cellM, grid.northM];
  const run = spawnSync(
    "/usr/bin/python3",
    ["-c", SCRIPT, JSON.stringify({ file, srs, bounds, cell: grid.cellM, resample })],
    { maxBuffer: 1 << 30, timeout: 60_000 },
  );
  if (run.status !== 0) throw new Error(run.stderr.toString());
  return new Float32Array(new Uint8Array(run.stdout).buffer);
}

/** Delft old town: AHN3 ground and surface (or ground and the outlines alone), 160 footprints with heights. */
export function delftScene(cellM = 1, outlinesOnly = false): Scene {
  const origin = { lng: 4.36699, lat: 52.0126 };
  const frame = testFrame(origin);
  const [cols, rows] = [Math.round(240 / cellM), Math.round(210 / cellM)];
  const grid: Grid = { westM: -120, northM: 105, cellM, cols, rows };
  const groundM = warpToGrid(shared("terrain", "delft_ahn3_dtm_05m.tif"), origin, grid);
  const surfaceM = outlinesOnly
    ? groundM
    : warpToGrid(shared("terrain", "delft_ahn3_dsm_05m.tif"), origin, grid, "max");
  const collection = JSON.parse(readFileSync(shared("terrain", "delft_buildings.geojson"), "utf8"));
  const buildings: SceneBuilding[] = [];
  for (const f of collection.features) {
    const polygons = f.geometry.type === "Polygon" ? [f.geometry.coordinates] : f.geometry.coordinates;
    buildings.push({
      id: f.properties.id,
      name: "",
      polygons: polygons.map((p: [number, number][][]) =>
        p.map((ring) => {
          const xy = ring.map(([lng, lat]) => {
            const at = frame.toXY({ lng, lat });
            return [at.xM, at.yM] as [number, number];
          });
          const [first, last] = [xy[0]!, xy.at(-1)!];
          if (first[0] !== last[0] || first[1] !== last[1]) xy.push([first[0], first[1]]);
          return xy;
        }),
      ),
      heightM: f.properties.height,
      heightSource: "measured",
      baseAmslM: f.properties.ground_z,
      topAmslM: f.properties.roof_z,
      from: null,
      to: null,
      temporary: false,
    });
  }
  const buildingAt = new Uint16Array(cols * rows);
  const bare = Float32Array.from(surfaceM);
  for (let i = 0; i < bare.length; i++) {
    const x = grid.westM + ((i % cols) + 0.5) * cellM;
    const y = grid.northM - (Math.floor(i / cols) + 0.5) * cellM;
    buildings.forEach((b, n) => {
      if (!b.polygons.some((p) => inside(p[0]!, x, y))) return;
      buildingAt[i] = n + 1;
      bare[i] = Number.isNaN(bare[i]!) ? b.topAmslM : Math.max(bare[i]!, b.topAmslM);
    });
  }
  return {
    frame,
    grid,
    groundM,
    surfaceM: bare,
    bareSurfaceM: bare,
    canopyM: null,
    buildings,
    buildingAt,
    groundEstimated: false,
    groundPostingM: 0.5,
    hasSurface: true,
    farField: null,
    warnings: [],
  };
}

/** Mt Hood ground at 30 m in a frame of its own. */
export function hoodScene(cols = 900, rows = 700): Scene {
  const origin = { lng: -121.7, lat: 45.37 };
  const grid: Grid = { westM: -cols * 15, northM: rows * 15, cellM: 30, cols, rows };
  const groundM = warpToGrid(shared("terrain", "mt_hood_elev_30m_utm10.tif"), origin, grid);
  return {
    frame: testFrame(origin),
    grid,
    groundM,
    surfaceM: groundM,
    bareSurfaceM: groundM,
    canopyM: null,
    buildings: [],
    buildingAt: null,
    groundEstimated: false,
    groundPostingM: 30,
    hasSurface: false,
    farField: null,
    warnings: [],
  };
}
