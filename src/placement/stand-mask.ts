import { REJECT_REASONS } from "../plan/outputs/rank.ts";
import { distanceToSegmentM, rectToSegmentM, turnedRect } from "./plane.ts";
import { forCellsNearSegment, scanOverlap, scanPolygon, scanTouchingEdges } from "./raster-marks.ts";
import type { HazardShape, Scenario } from "./scenario.ts";
import { slopeDeg, slopeIsKnown } from "./slope.ts";

export const REASON = Object.fromEntries(REJECT_REASONS.map((r, i) => [r, i + 1])) as Record<
  (typeof REJECT_REASONS)[number],
  number
>;
/** Marks a parking cell without ground data: neither usable nor struck out by a rule. */
export const REASON_UNKNOWN = 255;

export interface StandMask {
  /** Parking area index + 1 for every cell whose centre lies in one, else 0. */
  parkingAt: Uint16Array;
  /** 0 = the unit may stand here; else REASON code, REASON_UNKNOWN where there is no ground. Meaningless outside parking. */
  reason: Uint8Array;
  /** Heading (degrees) the footprint fits at. */
  headingDeg: Float32Array;
  parkingCells: number;
}

/** Every stand rule as a raster over the grid; a cell's mast stands at its centre. */
export function standMask(s: Scenario): StandMask {
  const { grid, groundM, canopyM } = s.scene;
  const size = grid.cols * grid.rows;
  const parkingAt = new Uint16Array(size);
  const reason = new Uint8Array(size);
  const headingDeg = new Float32Array(size);

  s.parking.forEach((area, i) => {
    for (const polygon of area.polygons)
      scanPolygon(grid, polygon, (index) => {
        if (parkingAt[index] === 0) parkingAt[index] = i + 1;
      });
  });

  chooseHeadings(s, parkingAt, reason, headingDeg);

  const known = slopeIsKnown(s);
  let parkingCells = 0;
  for (let index = 0; index < size; index++) {
    if (parkingAt[index] === 0) continue;
    parkingCells++;
    if (Number.isNaN(groundM[index]!)) {
      reason[index] = REASON_UNKNOWN;
      continue;
    }
    const r = reason[index]!;
    if (r !== REASON.footprint && known) {
      const slope = slopeDeg(s.scene, index % grid.cols, Math.floor(index / grid.cols), s.unit.lengthM, s.unit.widthM);
      if (slope > s.unit.maxSlopeDeg) reason[index] = REASON.slope;
    }
    // A tip inside a tree cannot be raised; later reasons in the order do not hide it.
    if (canopyM && canopyM[index]! > s.unit.tipHeightM) setReason(reason, index, REASON.obstacle);
  }

  for (const h of s.hazards) {
    if (h.kind === "power-line")
      markNear(s, h, s.unit.tipHeightM + h.lineClearanceM, (i) => setReason(reason, i, REASON["power-line"]));
    if (h.kind === "crowd") {
      for (const polygon of h.polygons) scanPolygon(grid, polygon, (i) => setReason(reason, i, REASON.crowd));
      markNear(s, h, s.unit.fallZoneMinM, (i) => setReason(reason, i, REASON.crowd));
    }
    if (h.kind === "opening") markOpenings(s, h, headingDeg, (i) => setReason(reason, i, REASON.opening));
  }
  return { parkingAt, reason, headingDeg, parkingCells };
}

/** The first reason in the published order wins. */
function setReason(reason: Uint8Array, index: number, code: number): void {
  const now = reason[index]!;
  if (now === 0 || code < now) reason[index] = code;
}

/** Segments of a hazard: lines, polygon edges, and points as segments of no length. */
export function hazardSegments(h: HazardShape): [readonly [number, number], readonly [number, number]][] {
  const out: [readonly [number, number], readonly [number, number]][] = [];
  for (const ring of [...h.polygons.flat(), ...h.lines])
    for (let i = 1; i < ring.length; i++) out.push([ring[i - 1]!, ring[i]!]);
  for (const p of h.points)
    out.push([
      [p.xM, p.yM],
      [p.xM, p.yM],
    ]);
  return out;
}

function markNear(s: Scenario, h: HazardShape, reachM: number, mark: (index: number) => void): void {
  for (const [a, b] of hazardSegments(h))
    forCellsNearSegment(s.scene.grid, a, b, reachM, (index, xM, yM) => {
      if (distanceToSegmentM({ xM, yM }, a, b) < reachM) mark(index);
    });
}

function markOpenings(s: Scenario, h: HazardShape, headingDeg: Float32Array, mark: (index: number) => void): void {
  const reach = s.unit.exhaustMinM + Math.hypot(s.unit.lengthM, s.unit.widthM) / 2;
  for (const [a, b] of hazardSegments(h))
    forCellsNearSegment(s.scene.grid, a, b, reach, (index, xM, yM) => {
      const rect = turnedRect({ xM, yM }, s.unit.lengthM, s.unit.widthM, headingDeg[index]!);
      if (rectToSegmentM(rect, a, b) < s.unit.exhaustMinM) mark(index);
    });
  for (const polygon of h.polygons) scanPolygon(s.scene.grid, polygon, mark);
}

/** For every parking cell the heading that meets the fewest rules, and the reason left at that heading. */
function chooseHeadings(s: Scenario, parkingAt: Uint16Array, reason: Uint8Array, headingDeg: Float32Array): void {
  const { grid } = s.scene;
  const size = grid.cols * grid.rows;
  const headings = [
    ...new Set([...s.unit.headingsDeg, ...s.parking.flatMap((p) => (p.headingDeg === null ? [] : [p.headingDeg]))]),
  ];
  const solid = s.scene.buildings.map((b) => b.polygons);
  const best = new Uint8Array(size).fill(255);
  for (const heading of headings) {
    const footprint = { lengthM: s.unit.lengthM, widthM: s.unit.widthM, headingDeg: heading };
    const here = new Uint8Array(size);
    const mark = (code: number) => (index: number) => {
      if (here[index] === 0 || code < here[index]!) here[index] = code;
    };
    // A footprint has to lie whole inside one parking polygon.
    const fits = new Uint8Array(size);
    for (const area of s.parking)
      for (const polygon of area.polygons) {
        const touching = new Set<number>();
        scanTouchingEdges(grid, polygon, footprint, (i) => touching.add(i));
        scanPolygon(grid, polygon, (i) => {
          if (!touching.has(i)) fits[i] = 1;
        });
      }
    for (const h of s.hazards) {
      const code =
        h.kind === "keep-out"
          ? REASON["keep-out"]
          : h.kind === "water"
            ? REASON.water
            : h.kind === "obstacle"
              ? REASON.obstacle
              : 0;
      if (code === 0) continue;
      for (const polygon of h.polygons) scanOverlap(grid, polygon, footprint, mark(code));
      for (const line of h.lines) scanTouchingEdges(grid, [line], footprint, mark(code));
      for (const p of h.points)
        scanTouchingEdges(
          grid,
          [
            [
              [p.xM, p.yM],
              [p.xM, p.yM],
            ],
          ],
          footprint,
          mark(code),
        );
    }
    for (const polygons of solid)
      for (const polygon of polygons) scanOverlap(grid, polygon, footprint, mark(REASON.obstacle));

    for (let i = 0; i < size; i++) {
      const area = parkingAt[i]!;
      if (area === 0) continue;
      const own = s.parking[area - 1]!.headingDeg;
      if (own === null ? !s.unit.headingsDeg.includes(heading) : own !== heading) continue;
      const found = fits[i] === 0 ? REASON.footprint : here[i]!;
      // 0 (no rule met) is best; otherwise the rule furthest down the order.
      const rank = found === 0 ? 0 : 100 - found;
      if (rank < best[i]!) {
        best[i] = rank;
        reason[i] = found;
        headingDeg[i] = heading;
      }
    }
  }
}
