import type { BuildingCollection, Plan } from "../src/plan/types.ts";
import type { Spot } from "./draw.ts";
import { BUILDINGS, CREEK, POWER_LINE } from "./fairground-ground.ts";
import { band, type Corner, collection, feature, placer, serve } from "./features.ts";
import { TERMINALS, UNIT } from "./unit.ts";
import { rasterEntry } from "./write.ts";

/** South-west corner of the rasters. */
export const CORNER: Corner = { zone: 14, eastingM: 541_200, northingM: 4_608_950 };

export const { lngLat, point, line, area } = placer(CORNER);

const POINTS = [
  serve("CP", "Command post", "must", point([693, 942]), {
    needs: ["cell/talk", "cell/video"],
    terminal: "modem",
    place: "outdoor",
    users: 12,
    targetPct: 95,
  }),
  serve("MD", "Medical tent", "must", point([968, 866]), {
    needs: ["cell/talk", "cell/video"],
    terminal: "phone",
    place: "tent",
    users: 8,
    targetPct: 95,
  }),
  serve("G1", "Gate 1", "must", point([422, 837]), {
    needs: ["cell/talk"],
    terminal: "phone",
    place: "outdoor",
    users: 6,
    targetPct: 95,
  }),
  serve(
    "SA",
    "Staging A",
    "must",
    area([
      [1074, 705],
      [1220, 714],
      [1235, 628],
      [1159, 595],
      [1079, 604],
    ]),
    {
      needs: ["cell/talk"],
      terminal: "phone",
      place: "vehicle",
      users: 60,
      targetPct: 95,
      tileTargetPct: 90,
      tileM: 40,
    },
  ),
  serve("GR", "Grandstand", "should", point([838, 893]), {
    needs: ["cell/talk"],
    terminal: "phone",
    place: "outdoor",
    users: 900,
    targetPct: 90,
  }),
  serve("LB", "Livestock barn", "should", point([556, 696]), {
    needs: ["cell/talk"],
    terminal: "phone",
    place: "indoor-traditional",
    users: 40,
    targetPct: 90,
  }),
  serve("MW", "Midway", "should", point([760, 581]), {
    needs: ["cell/talk"],
    terminal: "phone",
    place: "outdoor",
    users: 400,
    targetPct: 90,
  }),
  serve("G2", "Gate 2", "should", point([1202, 1112]), {
    needs: ["cell/talk"],
    terminal: "phone",
    place: "outdoor",
    users: 6,
    targetPct: 90,
  }),
  serve(
    "SB",
    "Staging B",
    "should",
    area([
      [177, 601],
      [337, 612],
      [352, 498],
      [202, 482],
    ]),
    {
      needs: ["cell/talk"],
      terminal: "phone",
      place: "vehicle",
      users: 60,
      targetPct: 90,
      tileTargetPct: 90,
      tileM: 40,
    },
  ),
  serve("LC", "Lost children tent", "should", point([649, 856]), {
    needs: ["cell/talk", "wifi/data"],
    terminal: "phone",
    place: "tent",
    users: 4,
    targetPct: 90,
  }),
  serve("SH", "Shuttle stop", "nice", point([337, 1029]), {
    needs: ["cell/talk"],
    terminal: "phone",
    place: "outdoor",
    users: 30,
    targetPct: 80,
  }),
  serve("CX", "Creek crossing", "nice", point([1208, 572]), {
    needs: ["cell/talk"],
    terminal: "phone",
    place: "outdoor",
    users: 2,
    targetPct: 80,
  }),
  serve("RL", "Ridge campers", "nice", point([193, 1159]), {
    needs: ["cell/talk", "cell/video"],
    terminal: "phone",
    place: "outdoor",
    users: 80,
    targetPct: 80,
  }),
  serve("FU", "Fuel store", "nice", point([501, 448]), {
    needs: ["cell/talk"],
    terminal: "phone",
    place: "vehicle",
    users: 3,
    targetPct: 80,
  }),
];

const PARKING = [
  feature(
    area([
      [183, 980],
      [429, 992],
      [443, 779],
      [309, 688],
      [173, 702],
    ]),
    { id: "west-field", name: "West Field", waysOut: 2 as const, surface: "grass" as const },
  ),
  feature(
    area([
      [629, 779],
      [700, 789],
      [709, 731],
      [636, 722],
    ]),
    { id: "barn-yard", name: "Barn Yard", waysOut: 1 as const, surface: "gravel" as const },
  ),
  feature(
    area([
      [1114, 960],
      [1308, 978],
      [1340, 864],
      [1261, 779],
      [1097, 769],
      [1078, 876],
    ]),
    { id: "east-apron", name: "East Apron", waysOut: 2 as const, surface: "hard" as const },
  ),
];

/** Spots on the rasters; for a straight line its ends are drawn in, for a curve they are left out. */
const clamped = (spots: readonly Spot[]): Spot[] => spots.map(([x, y]): Spot => [Math.min(1490, Math.max(10, x)), y]);
const onGround = (spots: readonly Spot[]): Spot[] => spots.filter(([x]) => x >= 10 && x <= 1490);

const HAZARDS = [
  feature(line(clamped(POWER_LINE)), {
    id: "line-69",
    name: "69 kV line",
    kind: "power-line" as const,
    voltageKv: 69,
    heightM: 14,
  }),
  feature(
    area([
      [760, 875],
      [911, 889],
      [919, 818],
      [771, 806],
    ]),
    { id: "infield", name: "Infield crowd", kind: "crowd" as const, users: 2500 },
  ),
  feature(area(band(onGround(CREEK), 9)), { id: "creek", name: "Tamarack Creek", kind: "water" as const }),
  feature(
    area([
      [684, 800],
      [694, 801],
      [709, 731],
      [699, 730],
    ]),
    { id: "fire-lane", name: "Fire lane", kind: "keep-out" as const },
  ),
  feature(point([601, 692]), { id: "barn-door", name: "Livestock barn, east door", kind: "opening" as const }),
  feature(point([647, 692]), { id: "elevator-door", name: "Grain elevator, dust intake", kind: "opening" as const }),
  feature(
    area([
      [836, 842],
      [852, 844],
      [853, 834],
      [837, 832],
    ]),
    {
      id: "stage",
      name: "Stage scaffold",
      kind: "obstacle" as const,
      heightM: 9,
      from: "2026-09-10T06:00:00-05:00",
      to: "2026-09-14T22:00:00-05:00",
    },
  ),
];

/** Footprints with the heights that are known of them, as the building file holds them. */
export function fairgroundBuildings(): BuildingCollection {
  return collection(
    BUILDINGS.map((b) => {
      const height =
        b.stated === "measured"
          ? { heightM: b.heightM, heightSource: "measured" as const }
          : b.stated === "floors"
            ? { floors: Math.round(b.heightM / 3) }
            : {};
      return feature(area(b.ring), { id: b.id, name: b.name, ...height });
    }),
  ) as BuildingCollection;
}

/** The plan: an autumn fair, one unit, three places to park it. All of it is invented. */
export function fairgroundPlan(): Plan {
  return {
    format: "hardstand-plan",
    version: 1,
    name: "Tamarack Flats, autumn fair",
    notes: "Invented place, people and equipment. Made by data-samples/make-fairground.ts.",
    date: "2026-09-12",
    terrain: {
      ground: [rasterEntry("ground.tif", 0.15)],
      surface: [rasterEntry("surface.tif", 0.15)],
      canopy: [{ file: "canopy.tif", unit: "m", date: "2023" }],
      buildings: "buildings.geojson",
      cellM: 1,
    },
    unit: UNIT,
    terminals: TERMINALS,
    satellites: [
      { id: "w101", name: "101° W", longitudeDeg: -101, role: "primary" },
      { id: "w083", name: "83° W", longitudeDeg: -83, role: "alternate" },
    ],
    points: collection(POINTS),
    parking: collection(PARKING),
    hazards: collection(HAZARDS),
    backhaul: {
      order: ["ethernet", "donor", "satellite"],
      drops: collection([feature(point([955, 918]), { id: "office-drop", name: "Fair office", cableM: 100 })]),
      donors: collection([
        feature(point([70, 1405]), {
          id: "ridge-donor",
          name: "Ridge tower",
          frequencyMHz: 739,
          antennaHeightM: 32,
          eirpDbm: 58,
          levelDbm: -100,
        }),
      ]),
      capacityMbps: 20,
    },
    season: "leaf-on",
    objectives: [
      { id: "staging-a", area: "sa", need: "cell/talk", sharePct: 95, unitsLost: 0 },
      { id: "staging-b", area: "sb", need: "cell/talk", sharePct: 90, unitsLost: 0 },
    ],
    search: { unitCount: 1, shortlist: 12, separationM: 30, draws: 200, seed: 1 },
  } as Plan;
}
