import type { PlaceXY } from "../../src/placement/layouts/instance.ts";
import type { ServedDemand, ServedMatrix } from "../../src/placement/layouts/served.ts";
import { seededRandom } from "../../src/placement/random.ts";

export interface LayoutRecipe {
  seed: number;
  spots: number;
  points: number;
  areas: number;
  tilesPerArea: number;
  /** Side of the square the spots lie in, m. */
  sideM?: number;
  /** Reach of a unit, m. */
  reachM?: number;
  mustShare?: number;
  unknownShare?: number;
}

/** A made-up plane with spots, points and square areas; probability falls with distance, unevenly. Same seed, same matrix. */
export function randomLayout(r: LayoutRecipe): { matrix: ServedMatrix; places: PlaceXY[] } {
  const random = seededRandom(r.seed);
  const side = r.sideM ?? 1000;
  const reach = r.reachM ?? 350;
  const place = (): PlaceXY => ({ xM: random() * side, yM: random() * side });
  const places = Array.from({ length: r.spots }, place);
  const near = (a: PlaceXY, b: PlaceXY): number => {
    if (random() < (r.unknownShare ?? 0)) return Number.NaN;
    const d = Math.hypot(a.xM - b.xM, a.yM - b.yM) / reach;
    return 1 / (1 + Math.exp(8 * (d - 0.7 - 0.6 * random())));
  };
  const demands: ServedDemand[] = [];
  const weights: number[] = [];
  const add = (isPoint: boolean, tiles: readonly PlaceXY[]): void => {
    const probability = new Float64Array(r.spots * tiles.length);
    for (let s = 0; s < r.spots; s++)
      for (let t = 0; t < tiles.length; t++) probability[s * tiles.length + t] = near(places[s]!, tiles[t]!);
    weights.push(1 + Math.floor(random() * 3));
    demands.push({
      demand: demands.length,
      site: demands.length,
      must: random() < (r.mustShare ?? 0.3),
      isPoint,
      worth: 0,
      target: isPoint ? 0.9 : 0.6,
      tileTarget: 0.9,
      tiles: tiles.length,
      probability,
    });
  };
  for (let i = 0; i < r.points; i++) add(true, [place()]);
  for (let i = 0; i < r.areas; i++) {
    const corner = place();
    const cols = Math.ceil(Math.sqrt(r.tilesPerArea));
    add(
      false,
      Array.from({ length: r.tilesPerArea }, (_, t) => ({
        xM: corner.xM + (t % cols) * (300 / cols),
        yM: corner.yM + Math.floor(t / cols) * (300 / cols),
      })),
    );
  }
  const total = weights.reduce((a, b) => a + b, 0);
  demands.forEach((d, i) => {
    d.worth = (100 * weights[i]!) / total;
  });
  return { matrix: { spots: r.spots, demands }, places };
}

/** Best set of at most k spots by trying every one: musts first, then score; scored by the function handed in. */
export function bruteForce(
  spots: number,
  k: number,
  allowed: (a: number, b: number) => boolean,
  value: (set: readonly number[]) => { mustsMet: number; score: number },
): { set: number[]; mustsMet: number; score: number } {
  let best = { set: [] as number[], ...value([]) };
  const grow = (set: number[], from: number): void => {
    for (let s = from; s < spots; s++) {
      if (!set.every((o) => allowed(o, s))) continue;
      const next = [...set, s];
      const v = value(next);
      if (v.mustsMet > best.mustsMet || (v.mustsMet === best.mustsMet && v.score > best.score + 1e-9))
        best = { set: next, mustsMet: v.mustsMet, score: v.score };
      if (next.length < k) grow(next, s + 1);
    }
  };
  if (k > 0) grow([], 0);
  return best;
}
