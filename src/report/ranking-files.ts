import type { RankAnswer } from "../plan/outputs/types.ts";
import { csv } from "./csv.ts";

const round = (n: number | null, digits: number): number | null => (n === null ? null : Number(n.toFixed(digits)));

/** The ranked list as CSV, one row a spot. */
export function rankingCsv(a: RankAnswer): string {
  return csv(
    [
      "rank",
      "id",
      "name",
      "role",
      "lng",
      "lat",
      "usng",
      "ground_amsl_m",
      "heading_deg",
      "score",
      "feasible",
      "decided_by",
      "musts_short",
      "musts_unknown",
      "must_short_db",
      "stability_pct",
      "backhaul",
      "cautions",
      "reasons",
    ],
    a.spots.map((s) => [
      s.rank,
      s.id,
      s.name,
      s.role,
      round(s.lng, 7),
      round(s.lat, 7),
      s.usng,
      round(s.groundAmslM, 2),
      s.headingDeg,
      round(s.score, 2),
      s.feasible,
      s.decidedBy,
      s.mustsShort,
      s.mustsUnknown,
      round(s.mustShortDb, 2),
      round(s.stabilityPct, 1),
      s.backhaul.find((b) => b.status === "pass")?.kind ?? "none",
      s.checks
        .filter((c) => c.status === "caution" || c.status === "unknown")
        .map((c) => c.id)
        .join(" "),
      s.reasons.join(" "),
    ]),
  );
}

/** Spots as GeoJSON points (RFC 7946). */
export function spotsGeoJson(a: RankAnswer): object {
  return {
    type: "FeatureCollection",
    features: a.spots.map((s) => ({
      type: "Feature",
      id: s.id,
      geometry: { type: "Point", coordinates: [Number(s.lng.toFixed(7)), Number(s.lat.toFixed(7))] },
      properties: {
        rank: s.rank,
        name: s.name,
        role: s.role,
        usng: s.usng,
        score: Number(s.score.toFixed(2)),
        feasible: s.feasible,
        decidedBy: s.decidedBy,
        stabilityPct: s.stabilityPct,
        reasons: s.reasons,
      },
    })),
  };
}
