import { type ErrorCode, HardstandError } from "../../errors/index.ts";
import type { LoadedPlan } from "../types.ts";
import { collectionsOf, type Located, type Position, placeText, positionsOf } from "./context.ts";

/** West, south, east, north, degrees. */
export type Bounds = readonly [number, number, number, number];

/** Mean length of a degree of latitude, km. */
const KM_PER_DEG = 111.2;
/** Farther than this from the rest is a typing error, not a plan. */
const FAR_KM = 300;

/** Great-circle distance, km, on a sphere: good enough to tell a plan from another continent. */
export function roughKm(a: Position, b: Position): number {
  const rad = Math.PI / 180;
  const s1 = Math.sin(((b[1]! - a[1]!) * rad) / 2);
  const s2 = Math.sin(((b[0]! - a[0]!) * rad) / 2);
  const h = s1 * s1 + Math.cos(a[1]! * rad) * Math.cos(b[1]! * rad) * s2 * s2;
  return (2 * KM_PER_DEG * Math.asin(Math.min(1, Math.sqrt(h)))) / rad;
}

const km = (v: number): string => (v < 10 ? v.toFixed(1) : Math.round(v).toString());

/** Nearest distance, km, from a place to a set of boxes; 0 inside one. Longitudes may run past 180. */
function distanceTo(bounds: readonly Bounds[], p: Position): number {
  let best = Number.POSITIVE_INFINITY;
  for (const [w, s, e, n] of bounds)
    for (const turn of [-360, 0, 360]) {
      const lng = Math.min(e, Math.max(w, p[0]! + turn));
      const lat = Math.min(n, Math.max(s, p[1]!));
      best = Math.min(best, roughKm([p[0]! + turn, p[1]!], [lng, lat]));
    }
  return best;
}

/** What may have been meant by a place that lies far off. */
const MISTAKES: {
  code: ErrorCode;
  text: string;
  mend: (p: Position) => Position;
  allowed: (p: Position) => boolean;
}[] = [
  {
    code: "plan.coordinates-swapped",
    text: "longitude and latitude look swapped; longitude comes first",
    mend: (p) => [p[1]!, p[0]!],
    allowed: (p) => Math.abs(p[0]!) <= 90,
  },
  {
    code: "plan.coordinates-swapped",
    text: "longitude and latitude look swapped, and the minus of a western longitude lost",
    mend: (p) => [-Math.abs(p[1]!), Math.abs(p[0]!)],
    allowed: (p) => Math.abs(p[0]!) <= 90,
  },
  {
    code: "plan.coordinates-far",
    text: "the minus of a western longitude looks lost",
    mend: (p) => [-p[0]!, p[1]!],
    allowed: () => true,
  },
  {
    code: "plan.coordinates-far",
    text: "the sign of the latitude looks wrong",
    mend: (p) => [p[0]!, -p[1]!],
    allowed: () => true,
  },
];

function refuse(
  at: Located,
  index: number,
  p: Position,
  away: number,
  what: string,
  near: (p: Position) => number,
): never {
  const mistake = MISTAKES.find((m) => m.allowed(p) && near(m.mend(p)) < FAR_KM / 10);
  const name = at.features[index]!.properties.name ?? at.features[index]!.properties.id;
  throw new HardstandError(mistake?.code ?? "plan.coordinates-far", `${name} is ${km(away)} km from ${what}`, {
    where: placeText(at, index, ".geometry"),
    received: `[${p[0]}, ${p[1]}]`,
    hint: mistake === undefined ? "check the coordinates; a plan spans at most a few tens of kilometres" : mistake.text,
  });
}

/**
 * Refuses places far from the rasters, saying what was probably meant: swapped, a lost minus.
 * @param bounds  the rasters' boxes in degrees; without any, the plan's features are compared with one another
 * Throws plan.coordinates-swapped or plan.coordinates-far.
 */
export function checkCoordinates(loaded: LoadedPlan, planFile: string, bounds: readonly Bounds[] = []): void {
  const all = collectionsOf(loaded, planFile);
  if (bounds.length === 0) {
    checkSpread(all);
    return;
  }
  const near = (p: Position) => distanceTo(bounds, p);
  for (const at of all)
    at.features.forEach((f, i) => {
      for (const p of positionsOf(f.geometry)) {
        const away = near(p);
        if (away > FAR_KM / 10 && at.kind !== "donors" && at.kind !== "buildings")
          refuse(at, i, p, away, "the ground", near);
        if (away > FAR_KM) refuse(at, i, p, away, "the ground", near);
      }
    });
}

/** Without rasters: the middle of all features is taken for the plan's place, and who lies far from it is named. */
function checkSpread(all: readonly Located[]): void {
  const firsts = all.flatMap((at) => at.features.map((f, index) => ({ at, index, p: positionsOf(f.geometry)[0]! })));
  if (firsts.length < 2) return;
  const middle = (values: number[]): number => values.sort((a, b) => a - b)[Math.floor(values.length / 2)]!;
  const centre = [middle(firsts.map((f) => f.p[0]!)), middle(firsts.map((f) => f.p[1]!))];
  for (const { at, index, p } of firsts) {
    const away = roughKm(p, centre);
    if (away > FAR_KM) refuse(at, index, p, away, "the rest of the plan", (q) => roughKm(q, centre));
  }
}
