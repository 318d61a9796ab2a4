import {
  createWorkspace,
  type PathGain,
  type PathLoss,
  type PathSettings,
  type PathWorkspace,
  pathGain,
  pathLoss,
} from "../coverage/path/loss.ts";
import { describeObstruction } from "../coverage/path/obstruction.ts";
import type { PathEnd } from "../coverage/path/sample.ts";
import type { XY } from "../geodesy/types.ts";
import type { Obstruction } from "../plan/outputs/types.ts";
import type { Sample, Scenario, Site } from "./scenario.ts";
import { type PathValue, type Standing, standing, type TermValue, termValue } from "./terms.ts";

/** A path to one sample of a site, with its value at the antenna's pattern. */
export interface SitePaths {
  site: number;
  serviceIndex: number;
  values: PathValue[];
  obstruction: Obstruction | null;
  /** Path to the site's own place (a point) or to the centre of its middle tile (an area). */
  main: PathLoss;
  mainPatternDb: number;
  unknownShare: number;
}

export interface Evaluation extends Standing {
  values: TermValue[];
  /** One entry per (site, service) that any demand asks for. */
  paths: SitePaths[];
}

export const unitEnd = (s: Scenario, at: XY): PathEnd => ({
  xM: at.xM,
  yM: at.yM,
  heightM: s.unit.antennaHeightM,
  building: -1,
  onRoof: false,
});
export const sampleEnd = (p: Sample): PathEnd => ({
  xM: p.xM,
  yM: p.yM,
  heightM: p.heightM,
  building: p.building,
  onRoof: p.onRoof,
});

/** Settings of the path models for one service of the plan. */
export function pathSettings(s: Scenario, serviceIndex: number): PathSettings {
  const service = s.loaded.plan.unit.services[serviceIndex]!;
  const models = s.loaded.plan.models;
  return {
    frequencyMHz: service.kind === "wifi" ? service.frequencyMHz : service.downlinkMHz,
    polarization: service.polarization ?? "vertical",
    k: s.k,
    season: s.season,
    timePct: models?.timePct ?? 50,
    deltaN: models?.refractivityGradient ?? 45,
    n0: models?.surfaceRefractivity ?? 325,
  };
}

/** Pairs of site and service that some demand asks for, in order. */
export function sitePairs(s: Scenario): { site: number; serviceIndex: number }[] {
  const seen = new Set<string>();
  const pairs: { site: number; serviceIndex: number }[] = [];
  for (const d of s.demands) {
    const key = `${d.site}:${d.serviceIndex}`;
    if (!seen.has(key)) {
      seen.add(key);
      pairs.push({ site: d.site, serviceIndex: d.serviceIndex });
    }
  }
  return pairs;
}

let shared: PathWorkspace | null = null;
function workspace(): PathWorkspace {
  shared ??= createWorkspace();
  return shared;
}

/** All paths from a place to one site for one service, and what they are worth at the antenna's pattern. */
export function evaluateSite(s: Scenario, at: XY, siteIndex: number, serviceIndex: number): SitePaths {
  const site = s.sites[siteIndex] as Site;
  const settings = pathSettings(s, serviceIndex);
  const pattern = s.patterns[serviceIndex]!;
  const from = unitEnd(s, at);
  const work = workspace();
  const value = (path: PathGain): PathValue => ({
    lossDb: path.unknownShare > 0 ? Number.NaN : path.lossDb,
    patternDb: pattern(path.azimuthAtUnitDeg, path.elevationAtUnitDeg),
  });
  const main = pathLoss(s.scene, from, sampleEnd(site.centre), settings, work);
  const obstruction = describeObstruction(s.scene, work.profile, main.clear.worst, s.k);
  const all: readonly PathGain[] =
    site.tiles.length === 0
      ? [main]
      : site.tiles.flatMap((t) => t.samples.map((p) => pathGain(s.scene, from, sampleEnd(p), settings, work)));
  return {
    site: siteIndex,
    serviceIndex,
    values: all.map(value),
    obstruction,
    main,
    mainPatternDb: value(main).patternDb,
    unknownShare: all.reduce((sum, r) => sum + r.unknownShare, 0) / all.length,
  };
}

/** Full prediction of every demand from one place. */
export function evaluate(s: Scenario, at: XY): Evaluation {
  const paths = sitePairs(s).map((p) => evaluateSite(s, at, p.site, p.serviceIndex));
  const values = s.demands.map((d) => {
    const own = paths.find((p) => p.site === d.site && p.serviceIndex === d.serviceIndex)!;
    return termValue(d, s.sites[d.site]!, own.values);
  });
  return { ...standing(s.demands, s.sites, values), values, paths };
}
