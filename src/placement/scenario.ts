import { compilePattern, type Pattern } from "../antenna/index.ts";
import { HardstandError } from "../errors/index.ts";
import type { LocalFrame, XY } from "../geodesy/types.ts";
import { type CompiledNeed, compileNeed, serviceFrequencyMHz } from "../link/index.ts";
import type { LoadedPlan, Need, Place, Rung, Satellite, Season, Service, Terminal } from "../plan/types.ts";
import { type DishSettings, dishSettings } from "../satellite/index.ts";
import type { Scene } from "../terrain/scene.ts";
import { METRES_PER_FOOT, STANDARD_K } from "../units/index.ts";
import type { Polygon } from "./plane.ts";
import { areaTiles, routeTiles, type Tile } from "./tiles.ts";

/** Weight of a point's rung in the score unless the point gives its own. */
export const RUNG_WEIGHT: Readonly<Record<Rung, number>> = { must: 3, should: 2, nice: 1 };

/** Where a demand is evaluated: a place with a terminal height. */
export interface Sample {
  xM: number;
  yM: number;
  heightM: number;
  /** Index into scene.buildings of the roof the terminal stands on, or of the building it is inside; −1 = neither. */
  building: number;
  onRoof: boolean;
}

/** A point, area or route of the plan, in the local frame. */
export interface Site {
  id: string;
  name: string;
  code: string;
  kind: "point" | "area" | "route";
  rung: Rung;
  place: Place;
  terminal: Terminal;
  users: number;
  centre: Sample;
  /** Empty for a point. Every tile holds nine samples. */
  tiles: (Tile & { samples: Sample[] })[];
  tileSideM: number;
}

/** One term of the score: a site asking for one need of one service. */
export interface Demand {
  index: number;
  site: number;
  serviceIndex: number;
  service: Service;
  need: Need;
  /** "service/need" */
  needId: string;
  weight: number;
  /** Probability (point) or share of tiles (area) required, 0…1. */
  target: number;
  tileTarget: number;
  compiled: CompiledNeed;
}

export interface ParkingArea {
  id: string;
  name: string;
  polygons: Polygon[];
  waysOut: number | null;
  headingDeg: number | null;
}

export interface NamedSpot {
  id: string;
  name: string;
  at: XY;
}

export interface HazardShape {
  id: string;
  name: string;
  kind: "power-line" | "keep-out" | "crowd" | "opening" | "water" | "obstacle";
  polygons: Polygon[];
  lines: (readonly [number, number])[][];
  points: XY[];
  /** Required horizontal distance from mast to line beyond the tip height, m; only for power lines. */
  lineClearanceM: number;
  lineText: string;
}

export interface UnitSettings {
  tipHeightM: number;
  antennaHeightM: number;
  lengthM: number;
  widthM: number;
  /** Headings a unit may be parked at, degrees from true north; one when the plan fixes it. */
  headingsDeg: number[];
  maxSlopeDeg: number;
  cautionSlopeDeg: number;
  fallZoneM: number;
  fallZoneMinM: number;
  exhaustClearM: number;
  exhaustMinM: number;
  ethernetCableM: number;
}

export interface Scenario {
  loaded: LoadedPlan;
  scene: Scene;
  unit: UnitSettings;
  season: Season;
  k: number;
  sites: Site[];
  /** Polygons of every site that is an area, by site index. */
  areaPolygons: Polygon[][];
  demands: Demand[];
  /** Antenna pattern of every service of the unit, dB relative to its peak. */
  patterns: Pattern[];
  totalWeight: number;
  parking: ParkingArea[];
  namedSpots: NamedSpot[];
  hazards: HazardShape[];
  dish: DishSettings | null;
  satellites: Satellite[];
  backhaulOrder: ("ethernet" | "donor" | "satellite")[];
  drops: { id: string; name: string; at: XY; cableM: number }[];
  donors: { id: string; name: string; at: XY; frequencyMHz: number; antennaHeightM: number }[];
  backhaulRequired: boolean;
  shortlist: number;
  /** Units to place together; 1 ranks single spots only. */
  unitCount: number;
  separationM: number;
  draws: number;
  seed: number;
}

const FEET_PER_10_KV = 4 / 12;

/**
 * Clearance from mast tip to a line, m. Known voltage: 10 ft up to 50 kV, plus 4 in per 10 kV above (29 CFR 1910.333(c)(3)).
 * Unknown: 50 ft, or 20 ft where the plan states it is at most 350 kV (29 CFR 1926.1408, 1926.1409).
 */
export function lineClearanceM(voltageKv: number | undefined, upTo350Kv: boolean | undefined): number {
  if (voltageKv === undefined) return (upTo350Kv ? 20 : 50) * METRES_PER_FOOT;
  return (10 + Math.max(0, voltageKv - 50) * (FEET_PER_10_KV / 10)) * METRES_PER_FOOT;
}

const toXY = (frame: LocalFrame, c: readonly number[]): XY => frame.toXY({ lng: c[0]!, lat: c[1]! });
const pair = (frame: LocalFrame, c: readonly number[]): readonly [number, number] => {
  const p = toXY(frame, c);
  return [p.xM, p.yM];
};

type AnyGeometry =
  | { type: "Point"; coordinates: number[] }
  | { type: "LineString"; coordinates: number[][] }
  | { type: "Polygon"; coordinates: number[][][] }
  | { type: "MultiPolygon"; coordinates: number[][][][] };

function shapes(frame: LocalFrame, g: AnyGeometry): Pick<HazardShape, "polygons" | "lines" | "points"> {
  switch (g.type) {
    case "Point":
      return { polygons: [], lines: [], points: [toXY(frame, g.coordinates)] };
    case "LineString":
      return { polygons: [], lines: [g.coordinates.map((c) => pair(frame, c))], points: [] };
    case "Polygon":
      return { polygons: [g.coordinates.map((r) => r.map((c) => pair(frame, c)))], lines: [], points: [] };
    case "MultiPolygon":
      return { polygons: g.coordinates.map((p) => p.map((r) => r.map((c) => pair(frame, c)))), lines: [], points: [] };
  }
}

function buildingIndex(scene: Scene, place: XY, id: string | undefined, cellIndex: (p: XY) => number): number {
  if (id !== undefined) return scene.buildings.findIndex((b) => b.id === id);
  const index = cellIndex(place);
  return index < 0 || scene.buildingAt === null ? -1 : scene.buildingAt[index]! - 1;
}

function makeSites(loaded: LoadedPlan, scene: Scene): Site[] {
  const { frame, grid } = scene;
  const terminals = loaded.plan.terminals;
  const lowestMHz = Math.min(
    ...loaded.plan.unit.services.map((s) => (s.kind === "wifi" ? s.frequencyMHz : s.downlinkMHz)),
  );
  const cellIndex = (p: XY): number => {
    const col = Math.floor((p.xM - grid.westM) / grid.cellM);
    const row = Math.floor((grid.northM - p.yM) / grid.cellM);
    return col < 0 || row < 0 || col >= grid.cols || row >= grid.rows ? -1 : row * grid.cols + col;
  };
  return loaded.points.features.map((f, i) => {
    const p = f.properties;
    const id = p.id ?? String(f.id ?? `point-${i + 1}`);
    const terminal = p.terminal === undefined ? terminals[0]! : terminals.find((t) => t.id === p.terminal);
    if (!terminal) {
      throw new HardstandError("plan.unknown-reference", `point ${id} names a terminal the plan does not have`, {
        where: `points.features[${i}].properties.terminal`,
        received: p.terminal,
        hint: `name one of: ${terminals.map((t) => t.id).join(", ")}`,
      });
    }
    const place = p.place ?? "outdoor";
    const heightM = p.heightM ?? terminal.heightM ?? 1.5;
    const inside = place === "indoor-traditional" || place === "indoor-efficient";
    const sample = (at: XY): Sample => {
      const building = p.onRoof !== undefined || inside ? buildingIndex(scene, at, p.onRoof, cellIndex) : -1;
      return { xM: at.xM, yM: at.yM, heightM, building, onRoof: p.onRoof !== undefined && building >= 0 };
    };
    const geometry = f.geometry as AnyGeometry;
    const tileSideM = p.tileM ?? Math.max((100 * 299.792458) / lowestMHz, 3 * grid.cellM);
    const base = {
      id,
      name: p.name ?? id,
      code: p.code ?? id.slice(0, 4),
      rung: p.rung,
      place,
      terminal,
      users: p.users ?? 0,
      tileSideM,
    };
    if (geometry.type === "Point") {
      return { ...base, kind: "point" as const, centre: sample(toXY(frame, geometry.coordinates)), tiles: [] };
    }
    const s = shapes(frame, geometry);
    const tiles =
      geometry.type === "LineString" ? routeTiles(s.lines[0]!, tileSideM) : areaTiles(s.polygons, tileSideM);
    const withSamples = tiles.map((t) => ({ ...t, samples: t.places.map(sample) }));
    const middle = withSamples[Math.floor(withSamples.length / 2)]!;
    return {
      ...base,
      kind: geometry.type === "LineString" ? ("route" as const) : ("area" as const),
      centre: sample({ xM: middle.xM, yM: middle.yM }),
      tiles: withSamples,
    };
  });
}

/** Builds everything a ranking needs from a loaded plan and its scene: defaults filled, geometry in the local frame. */
export function makeScenario(loaded: LoadedPlan, scene: Scene): Scenario {
  const { plan } = loaded;
  const { frame } = scene;
  const unit = plan.unit;
  const season = plan.season ?? "leaf-on";
  const sites = makeSites(loaded, scene);
  const demands: Demand[] = [];
  loaded.points.features.forEach((f, site) => {
    for (const needId of f.properties.needs) {
      const [serviceId, id] = needId.split("/") as [string, string];
      const serviceIndex = unit.services.findIndex((s) => s.id === serviceId);
      const service = unit.services[serviceIndex];
      const need = service?.needs.find((n) => n.id === id);
      if (!service || !need) {
        throw new HardstandError(
          "plan.unknown-reference",
          `point ${sites[site]!.id} asks for a need the unit does not offer`,
          {
            where: `points.features[${site}].properties.needs`,
            received: needId,
            hint: `name one of: ${unit.services.flatMap((s) => s.needs.map((n) => `${s.id}/${n.id}`)).join(", ")}`,
          },
        );
      }
      demands.push({
        index: demands.length,
        site,
        serviceIndex,
        service,
        need,
        needId,
        weight: f.properties.weight ?? RUNG_WEIGHT[f.properties.rung],
        target: (f.properties.targetPct ?? 95) / 100,
        tileTarget: (f.properties.tileTargetPct ?? 90) / 100,
        compiled: compileNeed({
          service,
          need,
          terminal: sites[site]!.terminal,
          place: sites[site]!.place,
          state: plan.state ?? "empty",
        }),
      });
    }
  });

  const parking: ParkingArea[] = [];
  const namedSpots: NamedSpot[] = [];
  loaded.parking.features.forEach((f, i) => {
    const id = f.properties.id ?? String(f.id ?? `parking-${i + 1}`);
    const s = shapes(frame, f.geometry as AnyGeometry);
    if (s.points[0]) namedSpots.push({ id, name: f.properties.name ?? id, at: s.points[0] });
    else
      parking.push({
        id,
        name: f.properties.name ?? id,
        polygons: s.polygons,
        waysOut: f.properties.waysOut ?? null,
        headingDeg: f.properties.headingDeg ?? null,
      });
  });

  const hazards = loaded.hazards.features.map((f, i): HazardShape => {
    const p = f.properties;
    const id = p.id ?? String(f.id ?? `hazard-${i + 1}`);
    const isLine = p.kind === "power-line";
    return {
      id,
      name: p.name ?? id,
      kind: p.kind,
      ...shapes(frame, f.geometry as AnyGeometry),
      lineClearanceM: isLine ? lineClearanceM(p.voltageKv, p.upTo350Kv) : 0,
      lineText: !isLine
        ? ""
        : p.voltageKv !== undefined
          ? `${p.voltageKv} kV`
          : p.upTo350Kv
            ? "voltage not given, at most 350 kV"
            : "voltage not given",
    };
  });

  const drops = (loaded.drops.features ?? []).map((f, i) => ({
    id: f.properties.id ?? `drop-${i + 1}`,
    name: f.properties.name ?? f.properties.id ?? `drop ${i + 1}`,
    at: toXY(frame, f.geometry.coordinates),
    cableM: f.properties.cableM ?? 100,
  }));
  const donors = (loaded.donors.features ?? []).map((f, i) => ({
    id: f.properties.id ?? `donor-${i + 1}`,
    name: f.properties.name ?? f.properties.id ?? `donor ${i + 1}`,
    at: toXY(frame, f.geometry.coordinates),
    frequencyMHz: f.properties.frequencyMHz,
    antennaHeightM: f.properties.antennaHeightM,
  }));
  const satellites = plan.satellites ?? [];
  const dish = unit.dish ? dishSettings(unit.dish) : null;
  const anyWay = drops.length > 0 || donors.length > 0 || (dish !== null && satellites.length > 0);

  return {
    loaded,
    scene,
    unit: {
      tipHeightM: unit.tipHeightM,
      antennaHeightM: unit.antennaHeightM ?? unit.tipHeightM,
      lengthM: unit.footprintM[0],
      widthM: unit.footprintM[1],
      headingsDeg: unit.headingDeg === undefined ? [0, 45, 90, 135] : [unit.headingDeg],
      maxSlopeDeg: unit.maxSlopeDeg ?? 5,
      cautionSlopeDeg: unit.cautionSlopeDeg ?? 3,
      fallZoneM: unit.tipHeightM * (unit.fallZoneFactor ?? 1.5),
      fallZoneMinM: unit.tipHeightM * (unit.fallZoneMinFactor ?? 1),
      exhaustClearM: unit.exhaustClearM ?? 25 * METRES_PER_FOOT,
      exhaustMinM: unit.exhaustMinM ?? 20 * METRES_PER_FOOT,
      ethernetCableM: unit.ethernetCableM ?? 100,
    },
    season,
    k: STANDARD_K,
    sites,
    areaPolygons: loaded.points.features.map((f) => shapes(frame, f.geometry as AnyGeometry).polygons),
    demands,
    patterns: unit.services.map((v) => compilePattern(v.antenna, { frequencyMHz: serviceFrequencyMHz(v) })),
    totalWeight: demands.reduce((sum, d) => sum + d.weight, 0),
    parking,
    namedSpots,
    hazards,
    dish,
    satellites,
    backhaulOrder: plan.backhaul?.order ?? ["ethernet", "donor", "satellite"],
    drops,
    donors,
    backhaulRequired: plan.backhaul?.required ?? anyWay,
    shortlist: plan.search?.shortlist ?? 12,
    unitCount: plan.search?.unitCount ?? 1,
    separationM: plan.search?.separationM ?? 30,
    draws: plan.search?.draws ?? 200,
    seed: plan.search?.seed ?? 1,
  };
}

/** The plan has a dish and something to point it at. */
export const hasSky = (s: Scenario): boolean => s.dish !== null && s.satellites.length > 0;
