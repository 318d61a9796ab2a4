import type { LngLat } from "../../geodesy/types.ts";
import type { RankAnswer } from "../../plan/outputs/types.ts";
import type { LoadedPlan } from "../../plan/types.ts";
import { wrap180 } from "../../units/index.ts";

export type PlaceGeometry =
  | { type: "Point"; coordinates: number[] }
  | { type: "LineString"; coordinates: number[][] }
  | { type: "Polygon"; coordinates: number[][][] }
  | { type: "MultiPolygon"; coordinates: number[][][][] };

/** One thing that is handed to other programs: a spot, a point to be served or a parking area. */
export interface Place {
  kind: "spot" | "point" | "parking";
  id: string;
  name: string;
  /** What goes on a map beside it. */
  code: string;
  geometry: PlaceGeometry;
  /** The place itself, or the middle of its box. */
  at: LngLat;
  /** Height of what stands there above ground, m: mast tip, terminal; null when nothing is given. */
  heightM: number | null;
  groundAmslM: number | null;
  /** One line for people. */
  text: string;
  properties: Record<string, string | number | boolean | null>;
}

const DIGITS = 7;
const round = (v: number): number => Number(v.toFixed(DIGITS));
const position = (p: readonly number[]): number[] => [round(p[0]!), round(p[1]!)];

/** Longitude and latitude alone, seven digits (a centimetre): heights of a plan's features are not heights of the ground. */
function plain(g: { type: string; coordinates: unknown }): PlaceGeometry {
  switch (g.type) {
    case "Point":
      return { type: "Point", coordinates: position(g.coordinates as number[]) };
    case "LineString":
      return { type: "LineString", coordinates: (g.coordinates as number[][]).map(position) };
    case "Polygon":
      return { type: "Polygon", coordinates: (g.coordinates as number[][][]).map((r) => r.map(position)) };
    default:
      return {
        type: "MultiPolygon",
        coordinates: (g.coordinates as number[][][][]).map((p) => p.map((r) => r.map(position))),
      };
  }
}

/** Where a sign is put: the point, the middle vertex of a line, the middle of an area's box (also across 180°). */
function middle(g: PlaceGeometry): LngLat {
  if (g.type === "Point") return { lng: g.coordinates[0]!, lat: g.coordinates[1]! };
  if (g.type === "LineString") {
    const p = g.coordinates[Math.floor(g.coordinates.length / 2)]!;
    return { lng: p[0]!, lat: p[1]! };
  }
  const ring = g.type === "Polygon" ? g.coordinates[0]! : g.coordinates.flatMap((p) => p[0]!);
  const first = ring[0]![0]!;
  const east = ring.map((p) => wrap180(p[0]! - first));
  const lats = ring.map((p) => p[1]!);
  return {
    lng: round(wrap180(first + (Math.min(...east) + Math.max(...east)) / 2)),
    lat: round((Math.min(...lats) + Math.max(...lats)) / 2),
  };
}

/** Spots of an answer, points and parking of its plan, in that order. */
export function placesOf(loaded: LoadedPlan, answer: RankAnswer): Place[] {
  const { plan } = loaded;
  const out: Place[] = answer.spots.map((s): Place => {
    const geometry = plain({ type: "Point", coordinates: [s.lng, s.lat] });
    return {
      kind: "spot",
      id: s.id,
      name: s.name,
      code: `S${s.rank}`,
      geometry,
      at: middle(geometry),
      heightM: plan.unit.tipHeightM,
      groundAmslM: s.groundAmslM === null ? null : Number(s.groundAmslM.toFixed(2)),
      text: [
        `Spot ${s.rank}${s.role === "none" ? "" : `, ${s.role}`}, score ${s.score.toFixed(1)}.`,
        `USNG ${s.usng}.`,
        ...(s.headingDeg === null ? [] : [`Park facing ${s.headingDeg.toFixed(0)}° true.`]),
        ...s.reasons,
      ].join(" "),
      properties: {
        rank: s.rank,
        role: s.role,
        usng: s.usng,
        score: Number(s.score.toFixed(2)),
        feasible: s.feasible,
        headingDeg: s.headingDeg,
        stabilityPct: s.stabilityPct,
      },
    };
  });
  for (const f of loaded.points.features) {
    const p = f.properties;
    const geometry = plain(f.geometry);
    const terminal = plan.terminals.find((t) => t.id === p.terminal) ?? plan.terminals[0];
    const heightM = p.heightM ?? terminal?.heightM ?? null;
    const best = answer.spots[0];
    const rows = best?.points.filter((r) => r.id === p.id) ?? [];
    const said = rows.map((r) => `${r.need} ${r.met === null ? "unknown" : r.met ? "served" : "short"}`).join(", ");
    out.push({
      kind: "point",
      id: p.id ?? "",
      name: p.name ?? p.id ?? "",
      code: p.code ?? p.id ?? "",
      geometry,
      at: middle(geometry),
      heightM,
      groundAmslM: null,
      text: `${p.rung}: ${p.needs.join(", ")}.${said ? ` From spot 1: ${said}.` : ""}${p.notes ? ` ${p.notes}` : ""}`,
      properties: { rung: p.rung, needs: p.needs.join(" "), users: p.users ?? null, place: p.place ?? null },
    });
  }
  for (const f of loaded.parking.features) {
    const p = f.properties;
    const geometry = plain(f.geometry);
    out.push({
      kind: "parking",
      id: p.id ?? "",
      name: p.name ?? p.id ?? "",
      code: p.id ?? "",
      geometry,
      at: middle(geometry),
      heightM: null,
      groundAmslM: null,
      text: [
        p.waysOut === undefined ? "Ways in and out are not in the plan." : `Ways in and out: ${p.waysOut}.`,
        ...(p.surface ? [`Surface: ${p.surface}.`] : []),
        ...(p.notes ? [p.notes] : []),
      ].join(" "),
      properties: { waysOut: p.waysOut ?? null, surface: p.surface ?? null, headingDeg: p.headingDeg ?? null },
    });
  }
  return out;
}
