import type { DecidedBy, PointResult } from "../plan/outputs/types.ts";
import type { ExaminedSpot } from "./spot-detail.ts";

/** A share in words: whole per cent, never "100 %". */
export function pct(p: number | null): string {
  if (p === null) return "unknown";
  if (p > 0.99) return "over 99 %";
  if (p < 0.01) return "under 1 %";
  return `${Math.round(p * 100)} %`;
}

const db = (n: number): string => n.toFixed(1);
const the = (name: string): string => (/^(the|something|trees)\b/i.test(name) ? name : `“${name}”`);

/** Why a spot stands where it does, in plain words with numbers: musts, difference from the next, what it loses, dish, unknowns. */
export function reasonsFor(
  e: ExaminedSpot,
  next: ExaminedSpot | null,
  nextRank: number,
  decidedBy: DecidedBy,
): string[] {
  return [
    ...mustReasons(e),
    ...aheadReason(e, next, nextRank, decidedBy),
    ...lossReasons(e),
    ...skyReasons(e),
    ...unknownReasons(e),
  ];
}

function mustReasons(e: ExaminedSpot): string[] {
  const musts = e.points.filter((p) => p.rung === "must");
  if (musts.length === 0) return [];
  const short = musts.filter((p) => p.met === false);
  const noWay = e.checks.some((c) => c.id === "backhaul" && c.status === "fail");
  const out: string[] = [];
  if (short.length === 0 && musts.every((p) => p.met === true)) {
    const targets = new Set(musts.map((p) => p.target));
    const target = targets.size === 1 ? `its ${Math.round([...targets][0]! * 100)} % target` : "its target";
    out.push(
      musts.length === 1
        ? `The one must reaches ${target}.`
        : `All ${musts.length} musts reach ${target.replace("its", "their")}.`,
    );
  }
  for (const p of short)
    out.push(
      `Short on a must, ${p.name} (${p.need}): ${pct(p.probability)}, target ${Math.round(p.target * 100)} %${p.shortDb ? `, ${db(p.shortDb)} dB missing${side(p)}` : ""}.${why(p)}`,
    );
  if (noWay) out.push("No way back to the network is in reach.");
  return out;
}

const side = (p: PointResult): string => (p.limitingDirection ? `; the ${p.limitingDirection} gives out first` : "");
const why = (p: PointResult): string => (p.obstruction ? ` In the way: ${the(p.obstruction)}.` : "");

function aheadReason(e: ExaminedSpot, next: ExaminedSpot | null, nextRank: number, decidedBy: DecidedBy): string[] {
  if (!next) return [];
  const head = `Ahead of spot ${nextRank}`;
  switch (decidedBy) {
    case "stand":
      return [`${head}: that one fails a stand check.`];
    case "musts":
      return [
        next.keys.mustsShort !== e.keys.mustsShort
          ? `${head} on musts: ${e.keys.mustsShort} short against ${next.keys.mustsShort}.`
          : `${head} on musts: ${db(e.keys.mustShortDb)} dB short against ${db(next.keys.mustShortDb)} dB.`,
      ];
    case "unknown-musts":
      return [`${head}: less of what must be served is unknown here.`];
    case "redundancy":
      return [
        `Level with spot ${nextRank} on score; ahead with ${e.keys.redundancy} ways back to the network against ${next.keys.redundancy}.`,
      ];
    case "backhaul":
      return [`Level with spot ${nextRank} on score; ahead on the plan's order of ways back.`];
    case "clearance":
      return [
        `Level with spot ${nextRank} on score; ahead on dish clearance, ${db(e.keys.clearanceDeg)}° against ${Number.isFinite(next.keys.clearanceDeg) ? `${db(next.keys.clearanceDeg)}°` : "none"}.`,
      ];
    case "access":
      return [`Level with spot ${nextRank} on score; ahead on access.`];
    case "order":
      return [`Nothing the plan asks for tells this spot from spot ${nextRank}.`];
    default:
      return scoreReason(e, next, head);
  }
}

function scoreReason(e: ExaminedSpot, next: ExaminedSpot, head: string): string[] {
  let best = -1;
  let gain = 0;
  e.points.forEach((p, i) => {
    const difference = p.weight * ((p.probability ?? 0) - (next.points[i]!.probability ?? 0));
    if (difference > gain) {
      gain = difference;
      best = i;
    }
  });
  const scores = `${e.evaluation.score.toFixed(1)} against ${next.evaluation.score.toFixed(1)}`;
  if (best < 0) return [`${head} on score, ${scores}.`];
  const mine = e.points[best]!;
  const theirs = next.points[best]!;
  const there = theirs.obstruction ? ` In the way there: ${the(theirs.obstruction)}.` : "";
  return [
    `${head} on score, ${scores}: most of it from ${mine.name} (${mine.need}), ${pct(mine.probability)} against ${pct(theirs.probability)}.${there}`,
  ];
}

/** Points short of their target that are not musts, worst first; the first three are named. */
function lossReasons(e: ExaminedSpot): string[] {
  const lost = e.points
    .filter((p) => p.rung !== "must" && p.met === false)
    .sort((a, b) => b.weight * (1 - (b.probability ?? 0)) - a.weight * (1 - (a.probability ?? 0)));
  const named = lost
    .slice(0, 3)
    .map(
      (p) =>
        `Loses ${p.name} (${p.need}): ${pct(p.probability)}, target ${Math.round(p.target * 100)} %${p.shortDb ? `, ${db(p.shortDb)} dB short` : ""}${side(p)}.${why(p)}`,
    );
  return lost.length > 3 ? [...named, `${lost.length - 3} more points fall short; see the table.`] : named;
}

function skyReasons(e: ExaminedSpot): string[] {
  return e.satellites
    .filter((v) => v.clear === false)
    .map((v) => {
      const by = v.blockedBy ? ` by ${the(v.blockedBy.name)}, ${v.blockedBy.distanceM.toFixed(0)} m away` : "";
      const who = v.role === "alternate" ? "Reserve satellite" : "Satellite";
      const found =
        v.clearanceDeg === null
          ? ""
          : v.clearanceDeg < 0
            ? `the ray itself is blocked, ${db(-v.clearanceDeg)}° too low`
            : `${db(v.clearanceDeg)}° clear, needs ${v.neededDeg}°`;
      return `${who} ${v.id} is held back${by}: ${found}.`;
    });
}

function unknownReasons(e: ExaminedSpot): string[] {
  const unknown = e.points.filter((p) => p.met === null);
  const out = unknown
    .slice(0, 2)
    .map(
      (p) =>
        `Unknown: ${p.name} (${p.need}); ${Math.max(1, Math.round(p.unknownShare * 100))} % of the path has no ground data. Ranked below known ones.`,
    );
  for (const v of e.satellites)
    if (v.clear === null) out.push(`Unknown: satellite ${v.id}; data are missing in its direction.`);
  return out;
}
