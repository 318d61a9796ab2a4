import { HardstandError } from "../../errors/index.ts";
import type { LoadedPlan } from "../types.ts";
import { collectionsOf, type Located, placeText, polygonsOf, positionsOf } from "./context.ts";
import { firstCrossing, isFlat } from "./rings.ts";

const shown = (p: readonly number[] | undefined): string => `[${p?.[0]}, ${p?.[1]}]`;

function refuse(message: string, where: string, received: string, hint: string): never {
  throw new HardstandError("plan.geometry-invalid", message, { where, received, hint });
}

interface Fault {
  message: string;
  tail: string;
  received: string;
  hint: string;
}

function polygonFault(rings: number[][][], path: string): Fault | null {
  for (const [r, ring] of rings.entries()) {
    const first = ring[0]!;
    const last = ring[ring.length - 1]!;
    const tail = `${path}[${r}]`;
    if (first[0] !== last[0] || first[1] !== last[1])
      return {
        message: "a ring is not closed",
        tail,
        received: `starts at ${shown(first)}, ends at ${shown(last)}`,
        hint: "repeat the first position at the end",
      };
    if (isFlat(ring))
      return {
        message: "a ring encloses no ground",
        tail,
        received: `${ring.length} positions on one line`,
        hint: "draw it with at least three corners",
      };
  }
  const cross = firstCrossing(rings);
  if (cross === null) return null;
  return {
    message: cross.ring === cross.otherRing ? "the polygon crosses itself" : "two rings of the polygon cross",
    tail: `${path}[${cross.ring}]`,
    received: `edge ${cross.edge + 1} crosses edge ${cross.otherEdge + 1} near ${shown(cross.near)}`,
    hint: "put the corners in order round the edge, or split it into two polygons",
  };
}

function checkFeature(at: Located, index: number, warnings: { code: string; text: string }[]): void {
  const { geometry, properties } = at.features[index]!;
  for (const p of positionsOf(geometry)) {
    const [lng, lat] = p as [number, number];
    if (Math.abs(lat) > 90)
      throw new HardstandError(
        Math.abs(lng) <= 90 ? "plan.coordinates-swapped" : "plan.coordinates-far",
        `a latitude of ${lat} lies beyond the pole`,
        {
          where: placeText(at, index, ".geometry"),
          received: shown(p),
          hint:
            Math.abs(lng) <= 90 && Math.abs(lat) <= 180
              ? "longitude comes first; these look swapped"
              : "coordinates are longitude and latitude in degrees on WGS 84, not metres or feet of a grid",
        },
      );
    if (Math.abs(lng) > 180)
      throw new HardstandError("plan.coordinates-far", `a longitude of ${lng} is beyond 180°`, {
        where: placeText(at, index, ".geometry"),
        received: shown(p),
        hint: "coordinates are longitude and latitude in degrees on WGS 84, not metres or feet of a grid",
      });
  }
  if (geometry.type === "LineString") {
    const [first, ...rest] = geometry.coordinates;
    if (rest.every((p) => p[0] === first![0] && p[1] === first![1]))
      refuse("a line has no length", placeText(at, index, ".geometry"), shown(first), "give it two different ends");
  }
  const multi = geometry.type === "MultiPolygon";
  polygonsOf(geometry).forEach((rings, k) => {
    const fault = polygonFault(rings, multi ? `.geometry.coordinates[${k}]` : ".geometry.coordinates");
    if (fault === null) return;
    if (at.kind !== "buildings") refuse(fault.message, placeText(at, index, fault.tail), fault.received, fault.hint);
    // Footprints come by the thousand from open data: one bad outline is said, and filled by the even-odd rule.
    warnings.push({
      code: "plan.building-outline",
      text: `Building ${properties.id}: ${fault.message} (${fault.received}). It is filled by the even-odd rule.`,
    });
  });
}

/**
 * Refuses geometry that cannot be meant: beyond the pole or the date line, rings open, without area or crossing
 * themselves, lines without length (plan.geometry-invalid, plan.coordinates-swapped, plan.coordinates-far).
 * Buildings with a faulty outline are warned of instead.
 */
export function checkGeometry(loaded: LoadedPlan, planFile: string): { code: string; text: string }[] {
  const warnings: { code: string; text: string }[] = [];
  for (const at of collectionsOf(loaded, planFile))
    for (let i = 0; i < at.features.length; i++) checkFeature(at, i, warnings);
  return warnings;
}
