import { toUsng } from "../geodesy/index.ts";
import type { XY } from "../geodesy/types.ts";
import type { BackhaulResult, Check, PointResult, SatelliteView, Spot } from "../plan/outputs/types.ts";
import { viewFromSpot } from "../satellite/index.ts";
import { backhaulAt } from "./backhaul.ts";
import { type Evaluation, evaluate, sitePairs } from "./evaluate.ts";
import type { OrderKeys } from "./order.ts";
import { hasSky, type Scenario } from "./scenario.ts";
import { groundAtM, standChecks } from "./stand-checks.ts";
import type { SkyWhen } from "./when.ts";

/** A spot fully examined: what the order looks at, and everything a person is shown. */
export interface ExaminedSpot {
  at: XY;
  cell: number;
  evaluation: Evaluation;
  checks: Check[];
  headingDeg: number;
  parking: string;
  waysOut: number | null;
  satellites: SatelliteView[];
  backhaul: BackhaulResult[];
  /** Where the dish stands when not at the unit. */
  dishAt: XY | null;
  points: PointResult[];
  screenedScore: number;
  keys: OrderKeys;
}

const finite = (n: number): number | null => (Number.isFinite(n) ? n : null);

/** Everything about one place: stand checks, every demand, every satellite, every way back. `evaluation` and `satellites` may be handed in when they are known. */
export function examineSpot(
  s: Scenario,
  at: XY,
  when: SkyWhen,
  options: {
    cell: number;
    screenedScore: number;
    evaluation?: Evaluation;
    dishAt?: XY | null;
    satellites?: SatelliteView[];
  },
): ExaminedSpot {
  const evaluation = options.evaluation ?? evaluate(s, at);
  const stand = standChecks(s, at);
  const dishAt = options.dishAt ?? null;
  const satellites = options.satellites ?? (hasSky(s) ? satelliteViews(s, dishAt ?? at, when) : []);
  const backhaul = backhaulAt(s, at, satellites);
  const passing = backhaul.filter((b) => b.status === "pass");
  const backhaulUnknown = passing.length === 0 && backhaul.some((b) => b.status === "unknown");
  const noBackhaul = s.backhaulRequired && passing.length === 0 && !backhaulUnknown;
  const checks: Check[] = [...stand.checks, ...satelliteChecks(s, satellites), backhaulCheck(s, backhaul)];
  const bestClearance = Math.max(
    Number.NEGATIVE_INFINITY,
    ...satellites.filter((v) => v.clear === true).map((v) => v.clearanceDeg ?? Number.NEGATIVE_INFINITY),
  );
  return {
    at,
    cell: options.cell,
    evaluation,
    checks,
    headingDeg: stand.headingDeg,
    parking: stand.parking,
    waysOut: stand.waysOut,
    satellites,
    backhaul,
    dishAt,
    points: pointResults(s, evaluation),
    screenedScore: options.screenedScore,
    keys: {
      score: evaluation.score,
      mustsShort: evaluation.mustsShort + (noBackhaul ? 1 : 0),
      mustShortDb: evaluation.mustShortDb,
      mustsUnknown: evaluation.mustsUnknown,
      noGo: stand.checks.some((c) => c.status === "fail"),
      redundancy: passing.length,
      backhaulRank:
        backhaul.findIndex((b) => b.status === "pass") < 0
          ? Number.POSITIVE_INFINITY
          : backhaul.findIndex((b) => b.status === "pass"),
      backhaulUnknown: s.backhaulRequired && backhaulUnknown,
      clearanceDeg: bestClearance,
      waysOut: stand.waysOut ?? -1,
      index: options.cell,
    },
  };
}

/** Every satellite of the plan as seen from a place. */
export function satelliteViews(s: Scenario, dishAt: XY, when: SkyWhen): SatelliteView[] {
  return viewFromSpot(s.scene, { place: s.scene.frame.toLngLat(dishAt) }, s.dish!, s.satellites, when);
}

function satelliteChecks(s: Scenario, views: readonly SatelliteView[]): Check[] {
  return views.map((v): Check => {
    const status =
      v.clear === true
        ? "pass"
        : v.clear === null
          ? "unknown"
          : v.role === "alternate" || views.some((o) => o.clear === true)
            ? "caution"
            : "fail";
    const blocker = v.blockedBy ? s.scene.buildings.find((b) => b.id === v.blockedBy!.id) : undefined;
    const told =
      blocker && blocker.heightSource !== "measured"
        ? ` Its height is ${blocker.heightSource === "assumed" ? "assumed" : "taken from floors"}.`
        : "";
    const by = v.blockedBy ? ` ${v.blockedBy.name} ${v.blockedBy.distanceM.toFixed(0)} m away stands in the way.` : "";
    return {
      id: `dish:${v.id}`,
      status,
      value: v.clearanceDeg,
      limit: v.neededDeg,
      unit: "degrees",
      text:
        v.clearanceDeg === null
          ? `${v.id}: unknown, data are missing in its direction.`
          : v.clear
            ? `${v.id}: ${v.clearanceDeg.toFixed(1)}° clear, needs ${v.neededDeg}°.`
            : `${v.id}: ${v.clearanceDeg.toFixed(1)}° clear, needs ${v.neededDeg}°.${by}${told}`,
      source: "clear tube of the dish; margins common practice, no source",
    };
  });
}

function backhaulCheck(s: Scenario, backhaul: readonly BackhaulResult[]): Check {
  const pass = backhaul.find((b) => b.status === "pass");
  const unknown = backhaul.find((b) => b.status === "unknown");
  const status = pass ? "pass" : unknown ? "unknown" : s.backhaulRequired ? "fail" : "caution";
  return {
    id: "backhaul",
    status,
    value: null,
    limit: null,
    unit: "",
    text: (pass ?? unknown ?? backhaul[0])?.text ?? "No way back to the network.",
    source: "plan",
  };
}

/** Results of every demand in the plan's order. */
export function pointResults(s: Scenario, evaluation: Evaluation): PointResult[] {
  const pairs = sitePairs(s);
  return s.demands.map((d, i) => {
    const site = s.sites[d.site]!;
    const value = evaluation.values[i]!;
    const paths = evaluation.paths[pairs.findIndex((p) => p.site === d.site && p.serviceIndex === d.serviceIndex)]!;
    const { main } = paths;
    const known = !Number.isNaN(value.probability);
    const worst = site.tiles[value.worstTile];
    const worstPlace = worst ? s.scene.frame.toLngLat({ xM: worst.xM, yM: worst.yM }) : null;
    const blocked = main.clear.fresnelRatio < 0.6 ? paths.obstruction : null;
    return {
      id: site.id,
      name: site.name,
      code: site.code,
      rung: site.rung,
      need: d.needId,
      service: d.service.id,
      terminal: site.terminal.id,
      place: site.place,
      kind: site.kind,
      probability: finite(value.probability),
      target: d.target,
      met: value.low >= d.target ? true : value.high >= d.target ? null : false,
      weight: d.weight,
      marginDb: finite(value.marginDb),
      shortDb: finite(value.shortDb),
      limitingDirection:
        known && Number.isFinite(value.lossDb) ? d.compiled.limitingDirection(value.lossDb, paths.mainPatternDb) : null,
      lossDb: finite(value.lossDb),
      model: main.model,
      lineOfSight: main.clear.lineOfSight,
      fresnelRatio: finite(main.clear.fresnelRatio),
      distanceM: main.distanceM,
      unknownShare: paths.unknownShare,
      obstruction: blocked ? blocked.name : "",
      tiles:
        site.tiles.length === 0
          ? null
          : {
              count: site.tiles.length,
              served: value.tilesServed,
              sideM: site.tileSideM,
              worstProbability: finite(value.worstProbability),
              worstLng: worstPlace?.lng ?? s.scene.frame.toLngLat({ xM: site.centre.xM, yM: site.centre.yM }).lng,
              worstLat: worstPlace?.lat ?? s.scene.frame.toLngLat({ xM: site.centre.xM, yM: site.centre.yM }).lat,
            },
      indicative: site.place === "indoor-traditional" || site.place === "indoor-efficient",
    };
  });
}

export interface SpotLabels {
  rank: number;
  role: Spot["role"];
  name: string;
  tied: boolean;
  decidedBy: Spot["decidedBy"];
  reasons: string[];
  stabilityPct: number | null;
  topThreePct: number | null;
  scoreRange: [number, number] | null;
}

/** The published form of an examined spot. */
export function spotAnswer(s: Scenario, e: ExaminedSpot, labels: SpotLabels): Spot {
  const place = s.scene.frame.toLngLat(e.at);
  const named = s.namedSpots.find((n) => Math.hypot(n.at.xM - e.at.xM, n.at.yM - e.at.yM) < 0.5);
  const usng = toUsng(place, 5);
  return {
    rank: labels.rank,
    id: named?.id ?? usng.replaceAll(" ", ""),
    name: labels.name,
    role: labels.role,
    lng: place.lng,
    lat: place.lat,
    usng,
    groundAmslM: finite(groundAtM(s, e.at)),
    headingDeg: e.headingDeg,
    parking: e.parking,
    score: e.evaluation.score,
    screenedScore: e.screenedScore,
    feasible: e.keys.mustsShort === 0 && !e.keys.noGo,
    tied: labels.tied,
    decidedBy: labels.decidedBy,
    mustsShort: e.keys.mustsShort,
    mustsUnknown: e.keys.mustsUnknown,
    mustShortDb: e.keys.mustShortDb,
    checks: e.checks,
    points: e.points,
    satellites: e.satellites,
    backhaul: e.backhaul,
    reasons: labels.reasons,
    stabilityPct: labels.stabilityPct,
    topThreePct: labels.topThreePct,
    scoreRange: labels.scoreRange,
  };
}
