import type { SweepTerrain } from "../../src/coverage/index.ts";
import { crop, filled, gdalRaster, type PlainRaster } from "./sweep-rasters.ts";
import { shared } from "./tools.ts";

export interface RealCase {
  name: string;
  rugged: boolean;
  terrain: SweepTerrain;
  col: number;
  row: number;
  antennaM: number;
  receiverHeightM: number;
  frequencyMHz: number;
  maxRangeM: number;
}

const asTerrain = (ground: PlainRaster, surface: PlainRaster = ground): SweepTerrain => ({
  cols: ground.cols,
  rows: ground.rows,
  cellM: ground.cellM,
  groundM: ground.values,
  obstacleM: surface.values,
});

/** Mt Hood, 30 m, LANDFIRE elevation (public domain); its voids filled with the least height. */
export const mtHood = (): SweepTerrain => asTerrain(filled(gdalRaster(shared("terrain/mt_hood_elev_30m_utm10.tif"))));

/** Southern half of SRTM tile N48W125 on 30 m of UTM zone 10 (NASA SRTM, public domain); sea is void there: filled. */
export function vancouverIsland(cellM = 30): SweepTerrain {
  const warp = ["-t_srs", "EPSG:32610", "-tr", `${cellM}`, `${cellM}`, "-r", "bilinear"];
  const whole = gdalRaster(shared("terrain/srtm1_N48W125_cog.tif"), warp);
  const scale = 30 / cellM;
  const [cols, rows] = [Math.round(1800 * scale), Math.round(1600 * scale)];
  return asTerrain(filled(crop(whole, Math.round(300 * scale), whole.rows - Math.round(1700 * scale), cols, rows)));
}

/** Delft old town, 0.5 m ground and surface (AHN3, CC0). */
export const delft = (): SweepTerrain =>
  asTerrain(
    filled(gdalRaster(shared("terrain/delft_ahn3_dtm_05m.tif"))),
    filled(gdalRaster(shared("terrain/delft_ahn3_dsm_05m.tif"))),
  );

/** Canterbury plain, 1 m (LINZ, CC BY 4.0). */
export const canterbury = (): SweepTerrain =>
  asTerrain(filled(gdalRaster(shared("terrain/nz_canterbury_dem_1m_nztm.tif"))));

/** The ground and links that accuracy is stated for: terminal at the middle cell. */
export function realCases(): RealCase[] {
  const [hood, island, town, plain] = [mtHood(), vancouverIsland(), delft(), canterbury()];
  const middle = (terrain: SweepTerrain) => ({ terrain, col: terrain.cols >> 1, row: terrain.rows >> 1 });
  const whole = 1e9;
  return [
    {
      name: "Mt Hood 30 m, 900 MHz",
      rugged: true,
      ...middle(hood),
      antennaM: 10,
      receiverHeightM: 2,
      frequencyMHz: 900,
      maxRangeM: whole,
    },
    {
      name: "Mt Hood 12 km, 400 MHz",
      rugged: true,
      ...middle(hood),
      antennaM: 10,
      receiverHeightM: 2,
      frequencyMHz: 400,
      maxRangeM: 12_000,
    },
    {
      name: "Mt Hood 12 km, 5 GHz",
      rugged: true,
      ...middle(hood),
      antennaM: 10,
      receiverHeightM: 2,
      frequencyMHz: 5000,
      maxRangeM: 12_000,
    },
    {
      name: "SRTM 30 m, 20 km, 900 MHz",
      rugged: false,
      ...middle(island),
      antennaM: 10,
      receiverHeightM: 2,
      frequencyMHz: 900,
      maxRangeM: 20_000,
    },
    {
      name: "Delft 0.5 m surface, 2.4 GHz",
      rugged: false,
      ...middle(town),
      antennaM: 6,
      receiverHeightM: 1.5,
      frequencyMHz: 2437,
      maxRangeM: whole,
    },
    {
      name: "Delft 0.5 m surface, 763 MHz",
      rugged: false,
      ...middle(town),
      antennaM: 6,
      receiverHeightM: 1.5,
      frequencyMHz: 763,
      maxRangeM: whole,
    },
    {
      name: "Canterbury 1 m, 2.4 GHz",
      rugged: false,
      ...middle(plain),
      antennaM: 2,
      receiverHeightM: 2,
      frequencyMHz: 2437,
      maxRangeM: whole,
    },
  ];
}
