import type { Evaluation, SitePaths } from "../evaluate.ts";
import type { Demand, Scenario, Site } from "../scenario.ts";
import { medianOf } from "../terms.ts";

/** What one demand gets from every candidate spot, tile by tile; nothing is capped, so every unit's share of it stays known. */
export interface ServedDemand {
  demand: number;
  site: number;
  must: boolean;
  isPoint: boolean;
  /** Points of the score (0–100) the demand is worth when it is served in full. */
  worth: number;
  target: number;
  tileTarget: number;
  /** 1 on a point. */
  tiles: number;
  /** Probability 0…1 by [spot · tiles + tile]; NaN = unknown. */
  probability: Float64Array;
}

/** Who serves what: every demand of the plan against every candidate spot. */
export interface ServedMatrix {
  spots: number;
  demands: ServedDemand[];
}

const probabilities = new Float64Array(9);

/** Probability of every tile of a demand (one entry for a point) from the paths to its site. NaN = unknown. */
export function tileProbabilities(demand: Demand, site: Site, paths: SitePaths): Float64Array {
  const need = demand.compiled;
  if (site.kind === "point") {
    const { lossDb, patternDb } = paths.values[0]!;
    return Float64Array.of(Number.isNaN(lossDb) ? Number.NaN : need.probability(lossDb, patternDb));
  }
  return Float64Array.from(site.tiles, (tile, t) => {
    const count = tile.samples.length;
    for (let j = 0; j < count; j++) {
      const { lossDb, patternDb } = paths.values[t * 9 + j]!;
      probabilities[j] = Number.isNaN(lossDb) ? Number.NaN : need.probability(lossDb, patternDb);
    }
    return medianOf(probabilities, count);
  });
}

/** The matrix of a plan's demands against spots that are evaluated in full. */
export function servedMatrix(s: Scenario, evaluations: readonly Evaluation[]): ServedMatrix {
  const demands = s.demands.map((d): ServedDemand => {
    const site = s.sites[d.site]!;
    const tiles = Math.max(1, site.tiles.length);
    const probability = new Float64Array(evaluations.length * tiles);
    evaluations.forEach((e, spot) => {
      const paths = e.paths.find((p) => p.site === d.site && p.serviceIndex === d.serviceIndex)!;
      probability.set(tileProbabilities(d, site, paths), spot * tiles);
    });
    return {
      demand: d.index,
      site: d.site,
      must: site.rung === "must",
      isPoint: site.kind === "point",
      worth: s.totalWeight === 0 ? 0 : (100 * d.weight) / s.totalWeight,
      target: d.target,
      tileTarget: d.tileTarget,
      tiles,
      probability,
    };
  });
  return { spots: evaluations.length, demands };
}

/** Least number of tiles whose share reaches the target. */
export function tilesNeeded(target: number, tiles: number): number {
  let n = Math.max(0, Math.floor(target * tiles) - 1);
  while (n < tiles && n / tiles < target) n++;
  return n;
}
