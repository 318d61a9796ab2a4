import type { XY } from "../geodesy/types.ts";
import type { Check } from "../plan/outputs/types.ts";
import { cellOf, nearestCell, sampleBilinear } from "../terrain/scene.ts";
import {
  distanceToSegmentM,
  insidePolygon,
  rectInsidePolygon,
  rectMeetsPolygon,
  rectToSegmentM,
  turnedRect,
} from "./plane.ts";
import type { HazardShape, Scenario } from "./scenario.ts";
import { slopeDeg, slopeIsKnown } from "./slope.ts";
import { hazardSegments } from "./stand-mask.ts";

const COMMON = "common practice, no source";
const one = (n: number): string => n.toFixed(1);
/** A distance to keep is never rounded down. */
const keep = (n: number): string => (Math.ceil(n * 10 - 1e-9) / 10).toFixed(1);

export interface StandFinding {
  checks: Check[];
  headingDeg: number;
  parking: string;
  waysOut: number | null;
}

/** Every stand rule for one place, with the number found, the limit and its source. Exact geometry, no grid. */
export function standChecks(s: Scenario, place: XY): StandFinding {
  const area = s.parking.find((a) => a.polygons.some((g) => insidePolygon(place, g)));
  const named = s.namedSpots.find((n) => Math.hypot(n.at.xM - place.xM, n.at.yM - place.yM) < 0.5);
  const headings = area?.headingDeg != null ? [area.headingDeg] : s.unit.headingsDeg;
  const footprints = headings.map((h) => footprintFinding(s, place, h, named !== undefined));
  const chosen = footprints.find((f) => f.every((c) => c.status !== "fail")) ?? footprints[0]!;
  const headingDeg = headings[footprints.indexOf(chosen)]!;
  const checks = [
    ...chosen.filter((c) => c.id === "footprint"),
    slopeCheck(s, place),
    ...chosen.filter((c) => c.id !== "footprint"),
    treeCheck(s, place),
    ...lineChecks(s, place),
    ...crowdChecks(s, place),
    ...openingChecks(s, place, headingDeg),
    accessCheck(area?.waysOut ?? null),
  ].filter((c) => c !== null);
  return { checks, headingDeg, parking: area?.name ?? named?.name ?? "", waysOut: area?.waysOut ?? null };
}

function footprintFinding(s: Scenario, place: XY, headingDeg: number, named: boolean): Check[] {
  const rect = turnedRect(place, s.unit.lengthM, s.unit.widthM, headingDeg);
  const size = `${s.unit.lengthM} × ${s.unit.widthM} m`;
  const fits = s.parking.some((a) => a.polygons.some((g) => rectInsidePolygon(rect, g)));
  const checks: Check[] = [
    {
      id: "footprint",
      status: fits ? "pass" : named ? "caution" : "fail",
      value: null,
      limit: null,
      unit: "m",
      text: fits
        ? `The ${size} footprint lies inside the parking area.`
        : named
          ? `A named spot: measure on site that ${size} is free.`
          : `The ${size} footprint does not fit inside the parking area here.`,
      source: COMMON,
    },
  ];
  const overlap = (kind: HazardShape["kind"], id: string, what: string) => {
    const hit = s.hazards.find(
      (h) =>
        h.kind === kind &&
        (h.polygons.some((g) => rectMeetsPolygon(rect, g)) ||
          hazardSegments(h).some(([a, b]) => rectToSegmentM(rect, a, b) === 0)),
    );
    if (s.hazards.some((h) => h.kind === kind) || hit)
      checks.push({
        id,
        status: hit ? "fail" : "pass",
        value: null,
        limit: null,
        unit: "m",
        text: hit ? `The footprint overlaps ${what} “${hit.name}”.` : `Clear of every ${what}.`,
        source: "plan",
      });
  };
  overlap("keep-out", "keep-out", "keep-out area");
  overlap("water", "water", "water area");
  overlap("obstacle", "obstacle", "temporary obstacle");
  const building = s.scene.buildings.find((b) => !b.temporary && b.polygons.some((g) => rectMeetsPolygon(rect, g)));
  if (building)
    checks.push({
      id: "building",
      status: "fail",
      value: null,
      limit: null,
      unit: "m",
      text: `The footprint overlaps building “${building.name || building.id}”.`,
      source: "buildings",
    });
  return checks;
}

function slopeCheck(s: Scenario, place: XY): Check {
  const base = { id: "slope", limit: s.unit.maxSlopeDeg, unit: "degrees", source: COMMON };
  const cell = nearestCell(s.scene.grid, place);
  const slope =
    cell && slopeIsKnown(s) ? slopeDeg(s.scene, cell.col, cell.row, s.unit.lengthM, s.unit.widthM) : Number.NaN;
  if (Number.isNaN(slope)) {
    const why = s.scene.groundEstimated
      ? "ground is estimated from a surface"
      : slopeIsKnown(s)
        ? "ground data are missing under the footprint"
        : `ground is known every ${one(s.scene.groundPostingM)} m only`;
    return {
      ...base,
      status: "caution",
      value: null,
      text: `Slope under the footprint is unknown: ${why}. Measure it on arrival.`,
    };
  }
  const status = slope > s.unit.maxSlopeDeg ? "fail" : slope > s.unit.cautionSlopeDeg ? "caution" : "pass";
  return {
    ...base,
    status,
    value: slope,
    text:
      status === "pass"
        ? `Slope ${one(slope)}°, stop at ${s.unit.maxSlopeDeg}°.`
        : status === "caution"
          ? `Slope ${one(slope)}°: needs blocks above ${s.unit.cautionSlopeDeg}°, stop at ${s.unit.maxSlopeDeg}°.`
          : `Slope ${one(slope)}° is more than ${s.unit.maxSlopeDeg}°.`,
  };
}

function treeCheck(s: Scenario, place: XY): Check | null {
  if (!s.scene.canopyM) return null;
  const cell = nearestCell(s.scene.grid, place);
  if (!cell) return null;
  const canopyM = s.scene.canopyM[cell.index]!;
  const base = { id: "overhead", value: canopyM, limit: s.unit.tipHeightM, unit: "m", source: COMMON };
  if (canopyM > s.unit.tipHeightM)
    return {
      ...base,
      status: "fail",
      text: `Trees ${one(canopyM)} m tall stand over the mast's place; the tip at ${s.unit.tipHeightM} m would be inside them.`,
    };
  if (canopyM > 0.5)
    return { ...base, status: "caution", text: `Vegetation ${one(canopyM)} m tall grows where the mast would stand.` };
  return { ...base, status: "pass", text: "No trees over the mast's place in the canopy data." };
}

function nearestM(h: HazardShape, place: XY): number {
  if (h.polygons.some((g) => insidePolygon(place, g))) return 0;
  return hazardSegments(h).reduce(
    (best, [a, b]) => Math.min(best, distanceToSegmentM(place, a, b)),
    Number.POSITIVE_INFINITY,
  );
}

function lineChecks(s: Scenario, place: XY): Check[] {
  return s.hazards
    .filter((h) => h.kind === "power-line")
    .map((h): Check => {
      const found = nearestM(h, place);
      const need = s.unit.tipHeightM + h.lineClearanceM;
      return {
        id: `power-line:${h.id}`,
        status: found < need ? "fail" : "pass",
        value: found,
        limit: need,
        unit: "m",
        text:
          found < need
            ? `${one(found)} m from ${h.name} (${h.lineText}), needs ${keep(need)} m. Look up and live.`
            : `${one(found)} m from ${h.name} (${h.lineText}); keep ${keep(need)} m or more, measured flat. Look up and live.`,
        source: "tip height plus 29 CFR 1910.333(c)(3); voltage not given: 29 CFR 1926.1408–1409",
      };
    });
}

function crowdChecks(s: Scenario, place: XY): Check[] {
  return s.hazards
    .filter((h) => h.kind === "crowd")
    .map((h): Check => {
      const found = nearestM(h, place);
      const status = found < s.unit.fallZoneMinM ? "fail" : found < s.unit.fallZoneM ? "caution" : "pass";
      return {
        id: `fall-zone:${h.id}`,
        status,
        value: found,
        limit: s.unit.fallZoneM,
        unit: "m",
        text: `${one(found)} m from mast to ${h.name}; keep ${keep(s.unit.fallZoneM)} m free, never under ${keep(s.unit.fallZoneMinM)} m.`,
        source: COMMON,
      };
    });
}

function openingChecks(s: Scenario, place: XY, headingDeg: number): Check[] {
  const rect = turnedRect(place, s.unit.lengthM, s.unit.widthM, headingDeg);
  return s.hazards
    .filter((h) => h.kind === "opening")
    .map((h): Check => {
      const inside = h.polygons.some((g) => rectMeetsPolygon(rect, g));
      const found = inside
        ? 0
        : hazardSegments(h).reduce(
            (best, [a, b]) => Math.min(best, rectToSegmentM(rect, a, b)),
            Number.POSITIVE_INFINITY,
          );
      const status = found < s.unit.exhaustMinM ? "fail" : found < s.unit.exhaustClearM ? "caution" : "pass";
      return {
        id: `exhaust:${h.id}`,
        status,
        value: found,
        limit: s.unit.exhaustClearM,
        unit: "m",
        text: `${one(found)} m from the unit to ${h.name}; generator exhaust needs ${keep(s.unit.exhaustClearM)} m, never under ${keep(s.unit.exhaustMinM)} m. Point it downwind.`,
        source: "20 ft carbon monoxide guidance (CDC, NIST); 25 ft common practice, no source",
      };
    });
}

function accessCheck(waysOut: number | null): Check {
  const base = { id: "access", value: waysOut, limit: 2, unit: "ways", source: COMMON };
  if (waysOut === null)
    return { ...base, status: "unknown", text: "Ways in and out are not in the plan. Check on arrival." };
  if (waysOut >= 2) return { ...base, status: "pass", text: "Two ways out." };
  return {
    ...base,
    status: "caution",
    text:
      waysOut === 1 ? "One way out: reverse in." : "No way out for a towing vehicle is named. Check before driving in.",
  };
}

/** Height of the ground under a place, m AMSL; NaN where unknown. */
export function groundAtM(s: Scenario, place: XY): number {
  const at = cellOf(s.scene.grid, place);
  return sampleBilinear(s.scene.grid, s.scene.groundM, at.col, at.row);
}
