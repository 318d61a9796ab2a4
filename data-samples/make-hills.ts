import { serializePlan } from "../src/plan/parse.ts";
import type { Plan } from "../src/plan/types.ts";
import type { Grid } from "../src/terrain/scene.ts";
import { measureTo, rounded, type Spot, toThirtySeconds } from "./draw.ts";
import { box, type Corner, collection, feature, placer, serve } from "./features.ts";
import { smoothNoise } from "./random.ts";
import { TERMINALS, UNIT } from "./unit.ts";
import { rasterEntry, sampleRaster, writeSample } from "./write.ts";

/**
 * Cedar Fork: an invented exercise in wooded hills, 4 km a side, ground and canopy at 3 m. Four staging areas, two routes,
 * two units to place. Metres east and north of the south-west corner.
 */
export const SEED = 41;
const CELLS = 1333;
const CELL_M = 3;
const SIDE_M = CELLS * CELL_M;
export const GRID: Grid = { westM: 0, northM: SIDE_M, cellM: CELL_M, cols: CELLS, rows: CELLS };
const CORNER: Corner = { zone: 15, eastingM: 510_000, northingM: 4_012_000 };
const { point, line, area } = placer(CORNER);

const RIVER = rounded([
  [-60, 900],
  [500, 1060],
  [1100, 880],
  [1700, 1150],
  [2300, 1010],
  [2900, 1320],
  [3500, 1240],
  [4060, 1500],
]);
const HOLLOW = rounded([
  [1750, 1160],
  [1900, 1700],
  [1780, 2300],
  [2050, 2900],
  [1980, 3500],
]);
const VALLEY_ROAD: Spot[] = rounded([
  [40, 1010],
  [520, 1150],
  [1100, 980],
  [1700, 1250],
  [2300, 1110],
  [2900, 1420],
  [3480, 1340],
  [3950, 1590],
]);
const RIDGE_ROAD: Spot[] = rounded([
  [1830, 1290],
  [2010, 1750],
  [2420, 2140],
  [2900, 2330],
  [3300, 2790],
  [3560, 3420],
]);

interface Bench {
  x: number;
  y: number;
  radiusM: number;
}
/** Ground made nearly level for fields, yards and staging, at the height it has in its middle. */
const BENCHES: Record<string, Bench> = {
  riverField: { x: 820, y: 1075, radiusM: 150 },
  churchLot: { x: 2060, y: 1200, radiusM: 80 },
  saddle: { x: 2480, y: 2180, radiusM: 110 },
  ridgePasture: { x: 3080, y: 2480, radiusM: 170 },
  westKnob: { x: 900, y: 2120, radiusM: 120 },
  hollowHead: { x: 2010, y: 3300, radiusM: 140 },
  eastFlat: { x: 3420, y: 1390, radiusM: 150 },
};

const ease = (t: number): number => {
  const u = Math.min(1, Math.max(0, t));
  return u * u * (3 - 2 * u);
};

export function hillsLayers(seed: number): { ground: Float32Array; canopy: Float32Array } {
  const [broad, mid, fine, woods, crowns] = [1, 2, 3, 4, 5].map((k) =>
    smoothNoise(seed + k, [950, 330, 70, 260, 9][k - 1]!),
  );
  const toRiver = measureTo(RIVER);
  const toHollow = measureTo(HOLLOW);
  const natural = (x: number, y: number): number => {
    const b = broad!(x, y);
    const hills = 290 + 105 * (1 - b * b) ** 3 + 18 * mid!(x, y) + 1.6 * fine!(x, y);
    const river = toRiver(x, y);
    const low = 252 + 14 * river.along;
    const z = low + (hills - low) * ease((river.distanceM - 12) / 620);
    const hollow = toHollow(x, y);
    const floor = 264 + 46 * hollow.along;
    return z > floor ? floor + (z - floor) * ease((hollow.distanceM - 8) / 380) : z;
  };
  const benches = Object.values(BENCHES).map((b) => ({ ...b, heightM: natural(b.x, b.y) }));
  const ground = new Float32Array(CELLS * CELLS);
  const canopy = new Float32Array(CELLS * CELLS);
  for (let r = 0; r < CELLS; r++)
    for (let c = 0; c < CELLS; c++) {
      const [x, y] = [(c + 0.5) * CELL_M, SIDE_M - (r + 0.5) * CELL_M];
      let z = natural(x, y);
      let open = 0;
      for (const b of benches) {
        const level = 1 - ease((Math.hypot(x - b.x, y - b.y) - b.radiusM) / (1.3 * b.radiusM));
        // A sixth of the natural relief stays, so that a bench lies on its hill and not in it.
        const bench = b.heightM + (z - b.heightM) / 6;
        z = z * (1 - level) + bench * level;
        open = Math.max(open, level);
      }
      const i = r * CELLS + c;
      ground[i] = z;
      // Woods on the slopes, none on benches, in fields by the river, or where the pattern leaves a clearing.
      const wooded = woods!(x, y) > -0.25 && open < 0.35 && toRiver(x, y).distanceM > 60;
      if (wooded) canopy[i] = Math.max(0, 15 + 4 * mid!(y, x) + 3.5 * crowns!(x, y));
    }
  return { ground: toThirtySeconds(ground), canopy: canopy.map((h) => Math.round(h * 8) / 8) };
}

const pad = (name: keyof typeof BENCHES, long: number, wide: number, turnDeg: number): Spot[] =>
  box(BENCHES[name]!.x, BENCHES[name]!.y, long, wide, turnDeg);

export function hillsPlan(): Plan {
  const talk = { needs: ["cell/talk"], terminal: "phone", place: "outdoor" as const, tileTargetPct: 90 };
  const drive = { ...talk, terminal: "modem", tileM: 60 };
  const parking = (id: string, name: string, spots: Spot[], waysOut: 0 | 1 | 2, surface: "grass" | "gravel" | "hard") =>
    feature(area(spots), { id, name, waysOut, surface });
  return {
    format: "hardstand-plan",
    version: 1,
    name: "Cedar Fork exercise",
    notes: "Invented ground, names and exercise. Made by data-samples/make-hills.ts.",
    date: "2026-10-03",
    terrain: {
      ground: [rasterEntry("ground.tif", 0.3)],
      canopy: [{ file: "canopy.tif", unit: "m", date: "2022" }],
      canopyGrowthM: 1,
      cellM: 3,
    },
    unit: { ...UNIT, name: "Exercise unit" },
    terminals: TERMINALS,
    satellites: [
      { id: "w099", name: "99° W", longitudeDeg: -99, role: "primary" },
      { id: "w077", name: "77° W", longitudeDeg: -77, role: "alternate" },
    ],
    points: collection([
      serve("S1", "Staging 1, river field", "must", area(box(560, 1120, 240, 90, 8)), {
        ...talk,
        tileM: 40,
        targetPct: 95,
        users: 80,
      }),
      serve("S2", "Staging 2, east flat", "must", area(box(3420, 1385, 200, 160, 10)), {
        ...talk,
        tileM: 40,
        targetPct: 95,
        users: 60,
      }),
      serve("S3", "Staging 3, hollow head", "should", area(box(2010, 3310, 190, 170, 0)), {
        ...talk,
        tileM: 40,
        targetPct: 90,
        users: 40,
      }),
      serve("S4", "Staging 4, west knob", "should", area(box(900, 2130, 160, 140, -15)), {
        ...talk,
        tileM: 40,
        targetPct: 90,
        users: 40,
      }),
      serve("R1", "Valley road", "should", line(VALLEY_ROAD.filter(([x]) => x > 60 && x < 3940)), {
        ...drive,
        targetPct: 80,
      }),
      serve("R2", "Ridge road", "nice", line(RIDGE_ROAD), { ...drive, targetPct: 70 }),
      serve("IC", "Exercise control", "must", point([2090, 1235]), {
        needs: ["cell/talk", "cell/video"],
        terminal: "modem",
        place: "outdoor",
        targetPct: 95,
        users: 15,
      }),
    ]),
    parking: collection([
      parking("river-field", "River field", pad("riverField", 210, 130, 10), 2, "grass"),
      parking("church-lot", "Church lot", pad("churchLot", 110, 70, 20), 2, "hard"),
      parking("saddle", "Saddle", pad("saddle", 150, 90, 35), 2, "gravel"),
      parking("ridge-pasture", "Ridge pasture", pad("ridgePasture", 230, 170, 40), 1, "grass"),
      parking("west-knob", "West knob", pad("westKnob", 60, 50, -15), 1, "gravel"),
      parking("east-flat", "East flat, north side", box(3400, 1490, 140, 50, 10), 2, "grass"),
    ]),
    hazards: collection([
      feature(
        line([
          [30, 1420],
          [900, 1500],
          [1750, 1420],
          [2500, 1560],
          [3300, 1640],
          [3970, 1850],
        ]),
        { id: "line-115", name: "115 kV line", kind: "power-line" as const, voltageKv: 115 },
      ),
    ]),
    backhaul: { order: ["satellite"], capacityMbps: 10 },
    season: "leaf-on",
    objectives: [
      { id: "s1", area: "s1", need: "cell/talk", sharePct: 95, unitsLost: 0 },
      { id: "s2", area: "s2", need: "cell/talk", sharePct: 95, unitsLost: 0 },
      { id: "s1-lost", area: "s1", need: "cell/talk", sharePct: 60, unitsLost: 1 },
    ],
    search: { unitCount: 2, shortlist: 16, separationM: 60, draws: 200, seed: 1 },
  } as Plan;
}

await writeSample(import.meta.url, "hills", () => {
  const { ground, canopy } = hillsLayers(SEED);
  return {
    "ground.tif": sampleRaster(ground, GRID, CORNER, "Invented bare earth, above sea level", true),
    "canopy.tif": sampleRaster(canopy, GRID, CORNER, "Invented vegetation, above ground", false),
    "hills.plan.json": serializePlan(hillsPlan()),
  };
});
