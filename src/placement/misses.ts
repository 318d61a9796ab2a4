import { toUsng } from "../geodesy/index.ts";
import { REJECT_REASONS } from "../plan/outputs/rank.ts";
import type { RankAnswer } from "../plan/outputs/types.ts";
import { placeOf } from "../terrain/scene.ts";
import { evaluate } from "./evaluate.ts";
import type { Scenario } from "./scenario.ts";
import type { Screening } from "./screen.ts";
import type { ExaminedSpot } from "./spot-detail.ts";
import { standChecks } from "./stand-checks.ts";

type Miss = RankAnswer["nearestMisses"][number];

const MOST = 3;
const MAST_STEPS_M = [1, 2, 3, 4, 6];
/** Power class 1 over power class 3, dB (3GPP TS 36.101). */
const HIGH_POWER_DB = 8;

/** With no feasible spot: the nearest ones, what each lacks, and the smallest changes that would make them do. */
export function nearestMisses(s: Scenario, screening: Screening, ordered: readonly ExaminedSpot[]): Miss[] {
  const fromSpots = ordered
    .filter((e) => !e.keys.noGo)
    .slice(0, MOST)
    .map((e) => missOfSpot(s, e));
  return fromSpots.length > 0 ? fromSpots : missesOfGround(s, screening);
}

function missOfSpot(s: Scenario, e: ExaminedSpot): Miss {
  const place = s.scene.frame.toLngLat(e.at);
  const short = e.points.filter((p) => p.rung === "must" && p.met === false);
  const parts = short.map(
    (p) => `${p.name} (${p.need}) ${p.shortDb === null ? "short" : `${p.shortDb.toFixed(1)} dB short`}`,
  );
  const noWay = e.checks.find((c) => c.id === "backhaul" && c.status === "fail");
  if (noWay) parts.push("no way back to the network");
  return {
    lng: place.lng,
    lat: place.lat,
    usng: toUsng(place, 5),
    score: e.evaluation.score,
    text: `${parts.join("; ")}.`,
    fixes: fixesFor(s, e),
  };
}

function fixesFor(s: Scenario, e: ExaminedSpot): Miss["fixes"] {
  const fixes: Miss["fixes"] = [];
  if (e.evaluation.mustsShort > 0) {
    for (const more of MAST_STEPS_M) {
      const taller: Scenario = {
        ...s,
        unit: { ...s.unit, antennaHeightM: s.unit.antennaHeightM + more, tipHeightM: s.unit.tipHeightM + more },
      };
      const found = evaluate(taller, e.at);
      if (found.mustsShort === 0) {
        const fails = standChecks(taller, e.at).checks.some((c) => c.status === "fail");
        fixes.push({
          text: `Mast ${more} m taller serves every must${fails ? ", but then a stand check fails" : ""}.`,
          amount: more,
          unit: "m",
        });
        break;
      }
    }
    const shorts = e.points.filter((p) => p.rung === "must" && p.met === false);
    const most = Math.max(...shorts.map((p) => p.shortDb ?? Number.POSITIVE_INFINITY));
    if (shorts.every((p) => p.limitingDirection === "uplink") && most <= HIGH_POWER_DB)
      fixes.push({
        text: "High-power terminals (power class 1) there close the gap in the uplink; check the downlink margin.",
        amount: HIGH_POWER_DB,
        unit: "dB",
      });
  }
  for (const v of e.satellites)
    if (v.clear === false)
      for (const a of v.advice)
        if (a.kind !== "none") fixes.push({ text: a.text, amount: a.liftM ?? a.distanceM ?? 0, unit: "m" });
  return fixes;
}

/** All ground is struck out: for each reason, the cell with the best score among those it strikes out. */
function missesOfGround(s: Scenario, screening: Screening): Miss[] {
  const best = new Map<number, number>();
  for (let i = 0; i < screening.cells.length; i++) {
    const r = screening.reason[i]!;
    if (r === 0) continue;
    const now = best.get(r);
    if (now === undefined || screening.score[i]! > screening.score[now]!) best.set(r, i);
  }
  return [...best.entries()]
    .sort((a, b) => screening.score[b[1]]! - screening.score[a[1]]!)
    .slice(0, MOST)
    .map(([reason, i]) => {
      const index = screening.cells[i]!;
      const at = placeOf(s.scene.grid, index % s.scene.grid.cols, Math.floor(index / s.scene.grid.cols));
      const place = s.scene.frame.toLngLat(at);
      const failed = standChecks(s, at).checks.filter((c) => c.status === "fail");
      const text =
        failed.length > 0 ? failed.map((c) => c.text).join(" ") : `Struck out: ${REJECT_REASONS[reason - 1]}.`;
      const fixes = failed.flatMap((c) =>
        c.value !== null && c.limit !== null && c.unit === "m"
          ? [
              {
                text: `${Math.abs(c.limit - c.value).toFixed(1)} m more distance passes “${c.id}”.`,
                amount: Math.abs(c.limit - c.value),
                unit: "m",
              },
            ]
          : [],
      );
      return { lng: place.lng, lat: place.lat, usng: toUsng(place, 5), score: screening.score[i]!, text, fixes };
    });
}
