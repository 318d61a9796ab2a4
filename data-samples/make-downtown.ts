import { serializePlan } from "../src/plan/parse.ts";
import type { BuildingCollection, Plan } from "../src/plan/types.ts";
import type { Grid } from "../src/terrain/scene.ts";
import { inside, type Spot, stampTrees, type Tree, toThirtySeconds } from "./draw.ts";
import { box, type Corner, collection, feature, placer, serve } from "./features.ts";
import { seeded, smoothNoise } from "./random.ts";
import { TERMINALS, UNIT } from "./unit.ts";
import { rasterEntry, sampleRaster, writeSample } from "./write.ts";

/**
 * Quarry Street: an invented downtown block with its neighbours, 600 m a side at half a metre, for sky view from the
 * street and from roofs. Metres east and north of the south-west corner.
 */
export const SEED = 7;
const SIDE_M = 600;
const CELL_M = 0.5;
const CELLS = SIDE_M / CELL_M;
export const GRID: Grid = { westM: 0, northM: SIDE_M, cellM: CELL_M, cols: CELLS, rows: CELLS };
const CORNER: Corner = { zone: 15, eastingM: 448_400, northingM: 4_650_100 };
const { point, line, area } = placer(CORNER);

/** Streets run every 110 m east and every 90 m north; their width between house fronts. */
const [PITCH_X, PITCH_Y, STREET_M] = [110, 90, 18];
const TURN_DEG = 9;
const [MIDDLE_X, MIDDLE_Y] = [SIDE_M / 2, SIDE_M / 2];

interface House {
  id: string;
  name: string;
  ring: Spot[];
  heightM: number;
}

const turned = ([x, y]: Spot): Spot => {
  const a = (TURN_DEG * Math.PI) / 180;
  const [u, v] = [x - MIDDLE_X, y - MIDDLE_Y];
  return [MIDDLE_X + u * Math.cos(a) - v * Math.sin(a), MIDDLE_Y + u * Math.sin(a) + v * Math.cos(a)];
};

/** Houses of every block, two rows of three to five; the blocks round the plaza are taller. */
export function houses(seed: number): House[] {
  const random = seeded(seed);
  const list: House[] = [];
  for (let bx = 0; bx < 5; bx++)
    for (let by = 0; by < 6; by++) {
      if (bx === 2 && by === 2) continue; // the plaza
      const [x0, y0] = [25 + bx * PITCH_X + STREET_M / 2, 30 + by * PITCH_Y + STREET_M / 2];
      const [w, h] = [PITCH_X - STREET_M, PITCH_Y - STREET_M];
      const tall = Math.abs(bx - 2) + Math.abs(by - 2) <= 1;
      for (const half of [0, 1]) {
        const count = 3 + Math.floor(random() * 3);
        for (let k = 0; k < count; k++) {
          const floors = tall ? 6 + Math.floor(random() * 13) : 2 + Math.floor(random() * 5);
          const gap = random() < 0.2 ? 4 : 0;
          const [l, wide] = [w / count - gap, h / 2 - 4 - 3 * random()];
          const x = x0 + (k + 0.5) * (w / count);
          const y = half === 0 ? y0 + wide / 2 : y0 + h - wide / 2;
          const ring = box(x, y, l, wide).map(turned);
          if (ring.some(([p, q]) => p < 6 || q < 6 || p > SIDE_M - 6 || q > SIDE_M - 6)) continue;
          const id = `q${list.length + 1}`;
          list.push({ id, name: `House ${list.length + 1}`, ring, heightM: Math.round(floors * 3.4 * 10) / 10 });
        }
      }
    }
  const hall = list.reduce((a, b) => (nearPlaza(b) && b.heightM < a.heightM && b.heightM >= 20 ? b : a), {
    ...list[0]!,
    heightM: 999,
  });
  hall.name = "Hall A";
  return list;
}
const nearPlaza = (h: House): boolean => Math.hypot(h.ring[0]![0] - MIDDLE_X, h.ring[0]![1] - MIDDLE_Y) < 130;

function streetTrees(seed: number): Tree[] {
  const random = seeded(seed + 9);
  const plaza: Tree[] = Array.from({ length: 10 }, (_, k) => {
    const [x, y] = turned([25 + 2 * PITCH_X + 24 + (k % 5) * 15, 30 + 2 * PITCH_Y + (k < 5 ? 16 : 74)]);
    return { x, y, heightM: 7 + 3 * random(), crownM: 2.6 + random() };
  });
  const avenue: Tree[] = Array.from({ length: 26 }, (_, k) => {
    const [x, y] = turned([40 + k * 20, 30 + 3 * PITCH_Y + (k % 2 === 0 ? 6 : -6)]);
    return { x, y, heightM: 6 + 4 * random(), crownM: 2.2 + random() };
  });
  return [...plaza, ...avenue];
}

export function downtownLayers(seed: number): { ground: Float32Array; surface: Float32Array; canopy: Float32Array } {
  const rolls = smoothNoise(seed + 1, 240);
  const ground = new Float32Array(CELLS * CELLS);
  for (let i = 0; i < ground.length; i++) {
    const [x, y] = [((i % CELLS) + 0.5) * CELL_M, SIDE_M - (Math.floor(i / CELLS) + 0.5) * CELL_M];
    ground[i] = 291 + 0.008 * x - 0.005 * y + 0.8 * rolls(x, y);
  }
  const flat = toThirtySeconds(ground);
  const canopy = new Float32Array(flat.length);
  stampTrees(canopy, GRID, streetTrees(seed), seeded(seed + 5));
  const roofs = new Float32Array(flat.length).fill(Number.NEGATIVE_INFINITY);
  for (const h of houses(seed)) {
    const cells = inside(GRID, h.ring);
    const foot = Float64Array.from(cells, (i) => flat[i]!).sort()[cells.length >> 1]!;
    for (const i of cells) {
      roofs[i] = foot + h.heightM;
      canopy[i] = 0;
    }
  }
  const low = toThirtySeconds(canopy).map((h) => (h < 1 ? 0 : h));
  return { ground: flat, canopy: low, surface: toThirtySeconds(flat.map((z, i) => Math.max(z + low[i]!, roofs[i]!))) };
}

export function downtownBuildings(seed: number): BuildingCollection {
  return collection(
    houses(seed).map((h) =>
      feature(area(h.ring), { id: h.id, name: h.name, heightM: h.heightM, heightSource: "measured" as const }),
    ),
  ) as BuildingCollection;
}

export function downtownPlan(seed: number): Plan {
  const curb = (id: string, name: string, spots: Spot[], waysOut: 0 | 1 | 2, headingDeg: number) =>
    feature(area(spots.map(turned)), { id, name, waysOut, surface: "hard" as const, headingDeg });
  const hall = houses(seed).find((h) => h.name === "Hall A")!;
  const lane = (x0: number, y0: number, x1: number, y1: number): Spot[] => [
    [x0, y0],
    [x1, y0],
    [x1, y1],
    [x0, y1],
  ];
  const [px, py] = [25 + 2 * PITCH_X, 30 + 2 * PITCH_Y];
  return {
    format: "hardstand-plan",
    version: 1,
    name: "Quarry Street, water main",
    notes: "Invented streets, houses and names. Made by data-samples/make-downtown.ts.",
    date: "2026-11-14",
    terrain: {
      ground: [rasterEntry("ground.tif", 0.1)],
      surface: [rasterEntry("surface.tif", 0.1)],
      canopy: [{ file: "canopy.tif", unit: "m", date: "2023" }],
      buildings: "buildings.geojson",
      cellM: 0.5,
      marginM: 250,
    },
    unit: {
      ...UNIT,
      name: "Street unit",
      footprintM: [9, 6],
      dish: { ...UNIT.dish!, apart: true, cableM: 50, roofSetbackM: 4.6, parapetM: 0.8 },
    },
    terminals: TERMINALS,
    satellites: [
      { id: "w101", name: "101° W", longitudeDeg: -101, role: "primary" },
      { id: "w083", name: "83° W", longitudeDeg: -83, role: "alternate" },
    ],
    points: collection([
      serve("CP", "Command post", "must", point(turned([px + 40, py + 30])), {
        needs: ["cell/talk", "cell/video"],
        terminal: "modem",
        place: "outdoor",
        targetPct: 95,
        users: 10,
      }),
      serve("WM", "Broken main", "must", point(turned([px - 90, py + 2])), {
        needs: ["cell/talk"],
        terminal: "phone",
        place: "outdoor",
        targetPct: 95,
        users: 12,
      }),
      serve(
        "SH",
        "Shelter, Hall A",
        "should",
        point(hall.ring.reduce<Spot>((s, p) => [s[0] + p[0] / 4, s[1] + p[1] / 4], [0, 0])),
        { needs: ["cell/talk"], terminal: "phone", place: "indoor-efficient", targetPct: 80, users: 150 },
      ),
      serve("CL", "Street closure", "should", line([turned([px - 105, py]), turned([px + 210, py])]), {
        needs: ["cell/talk"],
        terminal: "phone",
        place: "outdoor",
        targetPct: 85,
        tileTargetPct: 90,
        tileM: 20,
      }),
      serve(
        "PZ",
        "Plaza",
        "nice",
        area(
          [
            [px + 14, py + 14],
            [px + 96, py + 14],
            [px + 96, py + 76],
            [px + 14, py + 76],
          ].map((s) => turned(s as unknown as Spot)),
        ),
        {
          needs: ["cell/talk", "wifi/data"],
          terminal: "phone",
          place: "outdoor",
          targetPct: 80,
          tileTargetPct: 90,
          tileM: 20,
          users: 100,
        },
      ),
    ]),
    parking: collection([
      curb("plaza-south", "Plaza, south side", lane(px + 14, py + 11, px + 96, py + 27), 2, 90),
      curb("plaza-north", "Plaza, north side", lane(px + 14, py + 62, px + 96, py + 78), 2, 90),
      curb("quarry-west", "Quarry Street, west end", lane(px - 100, py - 7, px - 16, py + 7), 1, 90),
      curb("mill-lane", "Mill Lane", lane(px + PITCH_X - 7, py + 14, px + PITCH_X + 7, py + 76), 1, 0),
    ]),
    hazards: collection([
      feature(area(lane(px + 46, py + 40, px + 64, py + 52).map(turned)), {
        id: "fountain",
        name: "Fountain",
        kind: "water" as const,
      }),
      feature(point(turned([px - 100, py + 8])), { id: "vent", name: "Basement vent", kind: "opening" as const }),
    ]),
    backhaul: {
      order: ["ethernet", "satellite"],
      drops: collection([feature(point(turned([px + 98, py + 80])), { id: "kiosk", name: "Plaza kiosk", cableM: 60 })]),
    },
    season: "leaf-off",
    search: { unitCount: 1, shortlist: 10, separationM: 20, draws: 200, seed: 1 },
  } as Plan;
}

await writeSample(import.meta.url, "downtown", () => {
  const { ground, surface, canopy } = downtownLayers(SEED);
  return {
    "ground.tif": sampleRaster(ground, GRID, CORNER, "Invented bare earth, above sea level", true),
    "surface.tif": sampleRaster(surface, GRID, CORNER, "Invented tops of houses and trees, above sea level", true),
    "canopy.tif": sampleRaster(canopy, GRID, CORNER, "Invented vegetation, above ground", false),
    "buildings.geojson": `${JSON.stringify(downtownBuildings(SEED))}\n`,
    "downtown.plan.json": serializePlan(downtownPlan(SEED)),
  };
});
