import type {
  CellAnswer,
  PathAnswer,
  PointResult,
  RankAnswer,
  SatelliteView,
  SkyAnswer,
  Spot,
} from "../../src/plan/outputs/types.ts";
import type { Plan } from "../../src/plan/types.ts";
import {
  BUILDINGS,
  CROWD,
  chance,
  groundM,
  inside,
  LINE,
  lineDistanceM,
  ORIGIN,
  PARKING,
  type Place,
  POINTS,
  reasonAt,
  SPOTS,
  scoreAt,
  standingM,
  toLngLat,
  toPlace,
} from "./mock-scene.ts";

const close = (ring: Place[]): [number, number][] => [...ring, ring[0]!].map(toLngLat);
const TARGET = { must: 95, should: 90, nice: 80 } as const;
export const usng = ([x, y]: Place): string =>
  `14T NM ${String(Math.round(41830 + x)).padStart(5, "0")} ${String(Math.round(9710 + y)).padStart(5, "0")}`;

export function makePlan(): Plan {
  return {
    format: "hardstand-plan",
    version: 1,
    name: "Tamarack Flats, autumn fair",
    date: "2026-09-12",
    terrain: { ground: ["ground.tif"], surface: ["surface.tif"], buildings: "buildings.geojson", cellM: 1 },
    unit: {
      name: "5 m mast, one cell, 0.9 m dish",
      tipHeightM: 6,
      footprintM: [10, 10],
      maxSlopeDeg: 5,
      fuelL: 24,
      burnLPerH: 0.5,
      services: [
        {
          id: "cell",
          name: "Cell",
          kind: "lte",
          downlinkMHz: 763,
          uplinkMHz: 793,
          channelMHz: 10,
          txPowerDbm: 36,
          cableLossDb: 1.5,
          noiseFigureDb: 4,
          antenna: { pattern: "omni", gainDbi: 9 },
          needs: [
            { id: "talk", name: "voice and text", rsrpDbm: -115 },
            { id: "video", name: "video up", downlinkMbps: 1, uplinkMbps: 2 },
          ],
        },
        {
          id: "wifi",
          name: "Wi-Fi",
          kind: "wifi",
          frequencyMHz: 2437,
          channelMHz: 20,
          txPowerDbm: 27,
          antenna: { pattern: "omni", gainDbi: 5 },
          needs: [{ id: "data", name: "data", levelDbm: -75 }],
        },
      ],
      dish: { diameterM: 0.9, eyeHeightM: 1.6, marginDeg: 5, treeMarginDeg: 10, minElevationDeg: 10 },
    },
    terminals: [
      { id: "phone", name: "phone in hand", powerDbm: 23, bodyLossDb: 3, heightM: 1.5 },
      { id: "modem", name: "roof modem", powerDbm: 23, gainDbi: 3, heightM: 3 },
    ],
    satellites: [
      { id: "w101", name: "101° W", longitudeDeg: -101, role: "primary" },
      { id: "w083", name: "83° W", longitudeDeg: -83, role: "alternate" },
    ],
    points: {
      type: "FeatureCollection",
      features: POINTS.map((p) => ({
        type: "Feature" as const,
        geometry: p.ring
          ? { type: "Polygon" as const, coordinates: [close(p.ring)] }
          : { type: "Point" as const, coordinates: toLngLat(p.place) },
        properties: {
          id: p.id,
          code: p.code,
          name: p.name,
          rung: p.rung,
          needs: ["cell/talk"],
          terminal: "phone",
          place: p.people,
          targetPct: TARGET[p.rung],
        },
      })),
    },
    parking: {
      type: "FeatureCollection",
      features: PARKING.map((p) => ({
        type: "Feature" as const,
        geometry: { type: "Polygon" as const, coordinates: [close(p.ring)] },
        properties: { id: p.id, name: p.name, waysOut: 2 as const, surface: "grass" as const },
      })),
    },
    hazards: {
      type: "FeatureCollection",
      features: [
        {
          type: "Feature",
          geometry: { type: "LineString", coordinates: LINE.map(toLngLat) },
          properties: { id: "line", name: "69 kV line", kind: "power-line", voltageKv: 69, heightM: 12 },
        },
        {
          type: "Feature",
          geometry: { type: "Polygon", coordinates: [close(CROWD)] },
          properties: { id: "crowd", name: "Arena crowd", kind: "crowd", users: 1200 },
        },
      ],
    },
    backhaul: { order: ["satellite", "donor"] },
    season: "leaf-on",
    search: { shortlist: 12, separationM: 30, draws: 200, seed: 1 },
  };
}
export const buildings = () => ({
  type: "FeatureCollection",
  features: BUILDINGS.map((b) => ({
    type: "Feature",
    geometry: { type: "Polygon", coordinates: [close(b.ring)] },
    properties: { id: b.id, ...(b.name ? { name: b.name } : {}), heightM: b.heightM, heightSource: "measured" },
  })),
});

function pointResult(spot: Place, t: (typeof POINTS)[number]): PointResult {
  const c = chance(spot, t);
  const target = TARGET[t.rung] / 100;
  const met = c.p >= target;
  const d = Math.hypot(spot[0] - t.place[0], spot[1] - t.place[1]);
  const marginDb = Math.max(-40, (141 - c.lossDb - (t.people === "vehicle" ? 8 : 2)) * 1);
  const [worstLng, worstLat] = toLngLat(t.place);
  return {
    id: t.id,
    name: t.name,
    code: t.code,
    rung: t.rung,
    need: "cell/talk",
    service: "cell",
    terminal: "phone",
    place: t.people,
    kind: t.ring ? "area" : "point",
    probability: c.p,
    target,
    met,
    weight: { must: 4, should: 2, nice: 1 }[t.rung],
    marginDb,
    shortDb: met ? 0 : Math.max(0.1, 12 - marginDb),
    limitingDirection: "uplink",
    lossDb: c.lossDb,
    model: d > 250 ? "p1812-7" : "p526-15/delta-bullington",
    lineOfSight: c.los,
    fresnelRatio: c.los ? 0.9 : -0.4,
    distanceM: d,
    unknownShare: 0,
    obstruction: c.block,
    tiles: t.ring
      ? { count: 24, served: Math.round(24 * c.p), sideM: 39, worstProbability: c.p * 0.9, worstLng, worstLat }
      : null,
    indicative: false,
  };
}

function satellite(spot: Place, id: string, lon: number, role: "primary" | "alternate"): SatelliteView {
  const azimuthDeg = lon === -101 ? 183.8 : 157.5;
  const elevationDeg = lon === -101 ? 41.8 : 39.4;
  const blocked = lon === -83 && Math.hypot(spot[0] - 4, spot[1]) < 60;
  const clearanceDeg = blocked ? 2.3 : lon === -101 ? 8.9 : 21.4;
  return {
    id,
    satelliteDeg: lon,
    role,
    azimuthDeg,
    azimuthMagneticDeg: azimuthDeg - 3.9,
    elevationDeg,
    elevationRefractedDeg: elevationDeg + 0.02,
    skewDeg: lon === -101 ? 2.8 : -17.1,
    rangeKm: 37_500,
    clearanceDeg,
    treeClearanceDeg: null,
    neededDeg: 5,
    neededTreeDeg: 10,
    clear: !blocked,
    opensLeafOff: false,
    blockedBy: blocked
      ? {
          kind: "building",
          id: "elevator",
          name: "Grain elevator",
          distanceM: 61,
          azimuthDeg: 160.2,
          topAmslM: 482,
          intrusionM: 2.6,
        }
      : null,
    advice: blocked
      ? [
          {
            kind: "move",
            text: "83° W clears if the dish moves 9 m east.",
            eastM: 9,
            northM: 0,
            distanceM: 9,
            azimuthDeg: 90,
            lng: toLngLat([spot[0] + 9, spot[1]])[0],
            lat: toLngLat(spot)[1],
          },
          { kind: "lift", text: "83° W clears if the dish is lifted 2.4 m.", liftM: 2.4 },
        ]
      : [],
    notes: [],
  };
}

export function makeSpot(place: Place, rank: number, name: string, parking: string, id = `s${rank}`): Spot {
  const [lng, lat] = toLngLat(place);
  const points = POINTS.map((t) => pointResult(place, t));
  const short = points.filter((p) => p.rung === "must" && p.met === false);
  const score = scoreAt(place);
  const line = lineDistanceM(place);
  const satellites = [satellite(place, "w101", -101, "primary"), satellite(place, "w083", -83, "alternate")];
  const reserve = satellites[1]!;
  const worst = points.filter((p) => p.met === false).sort((a, b) => (b.shortDb ?? 0) - (a.shortDb ?? 0))[0];
  const pct = (x: number | null): string =>
    x === null ? "unknown" : x > 0.99 ? "over 99 %" : `${Math.round(x * 100)} %`;
  return {
    rank,
    id,
    name,
    role: rank === 1 ? "primary" : rank === 3 ? "alternate" : rank === 4 ? "contingency" : "none",
    lng,
    lat,
    usng: usng(place),
    groundAmslM: groundM(place),
    headingDeg: 105,
    parking,
    score,
    screenedScore: score - 0.6,
    feasible: short.length === 0,
    tied: false,
    decidedBy: rank === 1 ? "first" : short.length > 0 ? "musts" : "score",
    mustsShort: short.length,
    mustsUnknown: 0,
    mustShortDb: short.reduce((s, p) => s + (p.shortDb ?? 0), 0),
    checks: [
      {
        id: "slope",
        status: "pass",
        value: 1.4,
        limit: 3,
        unit: "°",
        text: "Slope 1.4°, stop at 5°",
        source: "unit.cautionSlopeDeg",
      },
      {
        id: "footprint",
        status: "pass",
        value: 12,
        limit: 10,
        unit: "m",
        text: "Flat ground 12 × 14 m, needs 10 × 10 m",
        source: "unit.footprintM",
      },
      {
        id: "power-line",
        status: line > 24 ? "pass" : "fail",
        value: line,
        limit: 15.3,
        unit: "m",
        text: `Power line, 69 kV: ${Math.round(line)} m away, needs 15.3 m. Look up and live.`,
        source: "29 CFR 1926.1408 Table A, doubled",
      },
      {
        id: "fall-zone",
        status: "pass",
        value: 8.1,
        limit: 7.5,
        unit: "m",
        text: "8.1 m free of people and things round the mast, needs 7.5 m",
        source: "unit.fallZoneFactor",
      },
      {
        id: "way-out",
        status: "caution",
        value: 1,
        limit: 2,
        unit: "ways",
        text: "One way out: reverse in",
        source: "common practice, no source",
      },
      {
        id: "dish-w101",
        status: "pass",
        value: satellites[0]!.clearanceDeg,
        limit: 5,
        unit: "°",
        text: "101° W is 8.9° clear, needs 5°",
        source: "dish.marginDeg",
      },
      {
        id: "dish-w083",
        status: reserve.clear ? "pass" : "fail",
        value: reserve.clearanceDeg,
        limit: 5,
        unit: "°",
        text: `83° W is ${reserve.clearanceDeg}° clear, needs 5°`,
        source: "dish.marginDeg",
      },
      {
        id: "soil",
        status: "unknown",
        value: null,
        limit: null,
        unit: "",
        text: "Bearing of the ground is not known",
        source: "no data",
      },
    ],
    points,
    satellites,
    backhaul: [
      { kind: "satellite", status: "pass", text: "101° W is clear: 8.9°, needs 5°" },
      { kind: "donor", status: "unknown", text: "No donor cell is in the plan" },
    ],
    reasons: [
      short.length === 0
        ? "All four must points reach their 95 % target."
        : `Falls short of ${short.map((p) => `${p.name} ${pct(p.probability)}`).join(" and ")}.`,
      ...(rank === 1
        ? ["Ahead of spot 2 on score: Staging B 99 % against 49 %. There, the grain elevator is in the way."]
        : []),
      ...(worst
        ? [
            `Loses ${worst.name}: short by ${(worst.shortDb ?? 0).toFixed(1)} dB, and the phone’s uplink gives out first. ${pct(worst.probability)}, target ${worst.target * 100} %.`,
          ]
        : []),
      ...(rank === 0
        ? []
        : [`First in ${rank === 1 ? 171 : Math.round(22 / rank)} of 200 draws of the model's error.`]),
      ...(reserve.clear ? [] : ["Reserve satellite 83° W is too close to the grain elevator: 2.3° clear, needs 5°."]),
    ],
    stabilityPct: rank === 0 ? null : rank === 1 ? 85.5 : rank === 2 ? 11 : 3.5 / rank,
    topThreePct: rank <= 3 ? 90 : 10,
    scoreRange: [score - 2, Math.min(100, score + 1.5)],
  };
}

export function makeRank(): RankAnswer {
  const spots = SPOTS.map((s) => makeSpot(s.place, 0, s.name, s.parking))
    .sort((a, b) => Number(b.feasible) - Number(a.feasible) || a.mustsShort - b.mustsShort || b.score - a.score)
    .map((s, i) => {
      const name = s.name;
      const place = toPlace(s.lng, s.lat);
      return makeSpot(place, i + 1, name, s.parking);
    });
  return {
    plan: "Tamarack Flats, autumn fair",
    spots,
    feasibleCount: spots.filter((s) => s.feasible).length,
    parking: { totalHectares: 13.1, usableHectares: 11.9, cells: 131_000, cellM: 1 },
    rejected: [
      { reason: "power-line", hectares: 0.85 },
      { reason: "slope", hectares: 0.21 },
      { reason: "obstacle", hectares: 0.14 },
    ],
    nearestMisses: [],
    screening: { deltaScore: 0.4, refinedCells: 68, sweeps: 14, direction: "from-points" },
    warnings: [],
    cautions: ["No canopy layer: trees count as solid. With leaves off it may be better than shown."],
    provenance: {
      version: "0.1.0",
      date: "2026-09-12",
      seed: 1,
      files: { "ground.tif": "0".repeat(64), "surface.tif": "1".repeat(64) },
      models: [
        { id: "p526-15/delta-bullington", edition: "Rec. ITU-R P.526-15" },
        { id: "p1812-7", edition: "Rec. ITU-R P.1812-7" },
      ],
      planRevision: 1,
    },
  };
}

/** The same run with nothing feasible: every spot is short, with nearest misses. */
export function makeNoFeasible(): RankAnswer {
  const rank = makeRank();
  const spots = rank.spots.map((s) => ({
    ...s,
    feasible: false,
    mustsShort: Math.max(1, s.mustsShort),
    mustShortDb: 3.2,
    decidedBy: "musts" as const,
  }));
  return {
    ...rank,
    spots,
    feasibleCount: 0,
    nearestMisses: spots.slice(0, 3).map((s, i) => ({
      lng: s.lng,
      lat: s.lat,
      usng: s.usng,
      score: s.score,
      text: [
        "Medical tent short by 3.2 dB, uplink",
        "Gate 1 short by 4.1 dB, uplink",
        "Staging A short by 6.0 dB and Medical tent by 5.1 dB",
      ][i]!,
      fixes: [
        [
          { text: "Raise the tip from 6 m to 8 m", amount: 2, unit: "m" },
          { text: "Let the tent use a roof modem", amount: 6, unit: "dB" },
        ],
        [{ text: "Raise the tip to 9 m", amount: 3, unit: "m" }],
        [],
      ][i]!,
    })),
  };
}

export function makeSky(place: Place, heightM = 1.6): SkyAnswer {
  const [lng, lat] = toLngLat(place);
  const ground = groundM(place);
  const eye = ground + heightM;
  const horizon: SkyAnswer["horizon"] = [];
  for (let az = 0; az < 360; az += 2) {
    let terrainDeg = -5;
    let buildingDeg: number | null = null;
    let treeDeg: number | null = null;
    let best = { kind: "terrain" as "terrain" | "building" | "tree", id: null as string | null, distanceM: 0, deg: -5 };
    for (let d = 4; d < 400; d += d < 100 ? 4 : 25) {
      const q: Place = [place[0] + d * Math.sin((az * Math.PI) / 180), place[1] + d * Math.cos((az * Math.PI) / 180)];
      const g = groundM(q);
      const deg = (Math.atan2(g - eye, d) * 180) / Math.PI;
      if (deg > terrainDeg) terrainDeg = deg;
      const s = standingM(q);
      if (s.kind !== "none") {
        const top = (Math.atan2(g + s.heightM - eye, d) * 180) / Math.PI;
        if (s.kind === "building" && top > (buildingDeg ?? -90)) buildingDeg = top;
        if (s.kind === "tree" && top > (treeDeg ?? -90)) treeDeg = top;
        if (top > best.deg) best = { kind: s.kind, id: s.id, distanceM: d, deg: top };
      }
      if (deg > best.deg) best = { kind: "terrain", id: null, distanceM: d, deg };
    }
    const unknown = az >= 300 && az < 306;
    horizon.push({
      azimuthDeg: az,
      elevationDeg: unknown ? null : best.deg,
      terrainDeg: unknown ? null : terrainDeg,
      buildingDeg: unknown ? null : buildingDeg,
      treeDeg: unknown ? null : treeDeg,
      kind: unknown ? "unknown" : best.kind,
      id: best.id,
      distanceM: unknown ? null : best.distanceM,
    });
  }
  const arc: SkyAnswer["arc"] = [];
  for (let lon = -175; lon <= -25; lon += 5) {
    const dl = ((lon - lng) * Math.PI) / 180;
    const phi1 = (lat * Math.PI) / 180;
    const cosb = Math.cos(phi1) * Math.cos(dl);
    const elevationDeg = (Math.atan2(cosb - 0.151, Math.sqrt(1 - cosb * cosb)) * 180) / Math.PI;
    const azimuthDeg = (180 + (Math.atan2(Math.tan(-dl), Math.sin(phi1)) * 180) / Math.PI + 360) % 360;
    if (elevationDeg > 0) arc.push({ satelliteDeg: lon, azimuthDeg, elevationDeg });
  }
  return {
    lng,
    lat,
    groundAmslM: ground,
    eyeHeightM: heightM,
    eyeAmslM: eye,
    onBuilding: null,
    declinationDeg: 3.9,
    declinationModel: "WMM2025",
    date: "2026-09-12",
    k: 4 / 3,
    satellites: [satellite(place, "w101", -101, "primary"), satellite(place, "w083", -83, "alternate")],
    horizon,
    arc: arc.sort((a, b) => a.azimuthDeg - b.azimuthDeg),
    cautions: ["No canopy layer: trees count as solid."],
    warnings: [],
  };
}

export function makePath(from: Place, to: Place, pointId: string | undefined): PathAnswer {
  const target = POINTS.find((p) => p.id === pointId) ?? { ...POINTS[0]!, place: to };
  const distanceM = Math.hypot(from[0] - to[0], from[1] - to[1]);
  const n = 160;
  const frequencyMHz = 763;
  const tx = groundM(from) + 6;
  const rx = groundM(to) + 1.5;
  const k = 4 / 3;
  const rows = {
    d: [] as number[],
    g: [] as number[],
    s: [] as number[],
    c: [] as (number | null)[],
    l: [] as number[],
    f: [] as number[],
    cl: [] as number[],
  };
  let worst: PathAnswer["worstObstruction"] = null;
  for (let i = 0; i <= n; i++) {
    const t = i / n;
    const d = t * distanceM;
    const q: Place = [from[0] + (to[0] - from[0]) * t, from[1] + (to[1] - from[1]) * t];
    const g = groundM(q);
    const s = i === 0 || i === n ? { heightM: 0, kind: "none" as const, id: null, name: "" } : standingM(q);
    const bulge = (d * (distanceM - d)) / (2 * k * 6_371_000);
    const line = tx + (rx - tx) * t - bulge;
    rows.d.push(d);
    rows.g.push(g);
    rows.s.push(s.kind === "building" ? g + s.heightM : g);
    rows.c.push(s.kind === "tree" ? g + s.heightM : null);
    rows.l.push(line);
    rows.f.push(Math.sqrt(((299.792458 / frequencyMHz) * d * (distanceM - d)) / Math.max(1, distanceM)));
    rows.cl.push(line - (g + s.heightM));
    const above = g + s.heightM - line;
    if (above > 0 && s.kind !== "none" && above > (worst?.aboveLineM ?? 0))
      worst = { distanceM: d, heightAmslM: g + s.heightM, aboveLineM: above, kind: s.kind, id: s.id, name: s.name };
  }
  const c = chance(from, target);
  const lbfs = 32.45 + 20 * Math.log10(frequencyMHz) + 20 * Math.log10(distanceM / 1000);
  const result = pointResult(from, target);
  const budget = (direction: "downlink" | "uplink", maplDb: number) => ({
    direction,
    terms: [
      { name: "Transmit power", value: direction === "downlink" ? 36 : 23, unit: "dBm", source: "plan" },
      { name: "Antenna gain", value: 9, unit: "dBi", source: "plan" },
      { name: "Path loss", value: -c.lossDb, unit: "dB", source: "Rec. ITU-R P.526-15" },
    ],
    levelDbm: -95,
    sinrDb: 12,
    rateMbps: 8.2,
    maplDb,
    marginDb: maplDb - c.lossDb,
    resourceBlocks: 50,
  });
  const [fl, fa] = toLngLat(from);
  const [tl, ta] = toLngLat(to);
  return {
    from: { lng: fl, lat: fa, groundAmslM: groundM(from), antennaAmslM: tx, heightM: 6 },
    to: { lng: tl, lat: ta, groundAmslM: groundM(to), antennaAmslM: rx, heightM: 1.5 },
    service: "cell",
    terminal: "phone",
    frequencyMHz,
    distanceM,
    bearingDeg: ((Math.atan2(to[0] - from[0], to[1] - from[1]) * 180) / Math.PI + 360) % 360,
    k,
    distancesM: rows.d,
    groundM: rows.g,
    surfaceM: rows.s,
    canopyTopM: rows.c,
    lineM: rows.l,
    fresnelRadiusM: rows.f,
    clearanceM: rows.cl,
    lineOfSight: worst === null,
    fresnelRatio: worst === null ? 0.8 : -0.5,
    unknownShare: 0,
    firstObstruction: worst,
    worstObstruction: worst,
    model: distanceM > 250 ? "p1812-7" : "p526-15/delta-bullington",
    lossDb: c.lossDb,
    parts: { Lbfs: lbfs, Ld: Math.max(0, c.lossDb - lbfs) },
    vegetation: null,
    secondOpinion: { model: "itm", lossDb: c.lossDb + 2.1, differenceDb: 2.1, caution: false },
    twoRayLossDb: null,
    budgets: [
      {
        need: "cell/talk",
        name: "voice and text",
        downlink: budget("downlink", 148),
        uplink: budget("uplink", 141),
        limitingDirection: "uplink",
        marginDb: result.marginDb ?? 0,
        probability: c.p,
        sigmaDb: 7.5,
        sigmaLocationDb: 5.5,
        sigmaModelDb: 5.1,
      },
    ],
    warnings: [],
  };
}

export function makeCell(place: Place, full: boolean): CellAnswer {
  const [lng, lat] = toLngLat(place);
  const area = PARKING.find((p) => inside(place, p.ring));
  const reason = area ? reasonAt(place) : null;
  const text = {
    "power-line": "Struck out: too close to the 69 kV line.",
    slope: "Struck out: steeper than the unit may stand on.",
    obstacle: "Struck out: a tree stands within the footprint.",
  };
  return {
    lng,
    lat,
    usng: usng(place),
    inParking: area !== undefined,
    screenedScore: area && reason === null ? scoreAt(place) : null,
    reason,
    reasonText: reason === null ? (area ? "" : "Outside the parking areas.") : text[reason],
    spot: full ? makeSpot(place, 0, "Trial spot", area?.name ?? "", "trial") : null,
  };
}
export { ORIGIN };
