import { clearance } from "../coverage/path/clearance.ts";
import { createProfile, samplePath } from "../coverage/path/sample.ts";
import type { XY } from "../geodesy/types.ts";
import { inverseNormal } from "../link/index.ts";
import { placeOf } from "../terrain/scene.ts";
import { DEG } from "../units/index.ts";
import { DONOR_FRESNEL, dropReachM } from "./backhaul.ts";
import { unitEnd } from "./evaluate.ts";
import type { RankExecutor, RunHooks, ScreenSweep, ScreenValues, SkyValues } from "./executor.ts";
import { forCellsNearSegment } from "./raster-marks.ts";
import { type Demand, hasSky, type Sample, type Scenario } from "./scenario.ts";
import { REASON, REASON_UNKNOWN, type StandMask, standMask } from "./stand-mask.ts";

/** Tiles of one area that screening looks at; refinement looks at all of them. */
export const SCREEN_TILES = 48;

/** The suitability surface before it is drawn: one entry per candidate cell. */
export interface Screening {
  stand: StandMask;
  /** Grid index of every parking cell with ground under it. */
  cells: Uint32Array;
  /** Score each of them would get, 0–100. */
  score: Float32Array;
  mustsShort: Uint16Array;
  mustShortDb: Float32Array;
  mustsUnknown: Uint16Array;
  /** Share of the score that is unknown at the cell, 0…1. */
  unknownShare: Float32Array;
  /** Least dish clearance that counts, degrees: the best satellite's; NaN = unknown. */
  clearanceDeg: Float32Array;
  /** 0 usable, else REASON code. */
  reason: Uint8Array;
  /** 2 a way back exists, 1 only if an unknown turns out well, 0 none. */
  backhaul: Uint8Array;
  sweeps: number;
  /** What every cell gives every demand, 0…1, by demand; kept only where several units are chosen together. */
  byDemand: Float32Array[] | null;
}

interface Group {
  demandIndexes: number[];
  /** Sweeps (index into the job list) of the group's samples. */
  jobs: number[];
}

/** Screens every parking cell: stand rules, one sweep per point or tile and service, dish clearance, ways back. */
export async function screen(
  s: Scenario,
  executor: RankExecutor,
  hooks: RunHooks,
  steps: { index: number; count: number },
): Promise<Screening> {
  const stand = standMask(s);
  const list: number[] = [];
  for (let i = 0; i < stand.parkingAt.length; i++)
    if (stand.parkingAt[i] !== 0 && stand.reason[i] !== REASON_UNKNOWN) list.push(i);
  const cells = new Uint32Array(list);

  const { jobs, groups } = planSweeps(s);
  const report = (done: number): void =>
    hooks.onProgress?.({
      step: "Testing every cell",
      stepIndex: steps.index,
      stepCount: steps.count,
      done,
      total: jobs.length + 1,
    });
  report(0);
  // The sky is asked for first and taken last: its few long pieces then run beside the many short sweeps.
  const sky =
    hasSky(s) && cells.length > 0
      ? executor.sky(
          s.satellites.map((v) => v.longitudeDeg),
          cells,
          hooks.signal,
        )
      : null;
  sky?.catch(() => undefined); // told when it is taken, should the sweeps give up before
  const values = cells.length === 0 ? [] : await executor.sweeps(jobs, cells, report, hooks.signal);

  const n = cells.length;
  const out: Screening = {
    stand,
    cells,
    score: new Float32Array(n),
    mustsShort: new Uint16Array(n),
    mustShortDb: new Float32Array(n),
    mustsUnknown: new Uint16Array(n),
    unknownShare: new Float32Array(n),
    clearanceDeg: new Float32Array(n).fill(Number.NaN),
    reason: new Uint8Array(n),
    backhaul: new Uint8Array(n),
    sweeps: jobs.length,
    byDemand: s.unitCount > 1 ? s.demands.map(() => new Float32Array(n)) : null,
  };
  for (const g of groups)
    for (const d of g.demandIndexes)
      addDemand(
        s,
        s.demands[d]!,
        g.jobs.map((j) => values[j]!),
        g.jobs.map((j) => jobs[j]!),
        out,
      );
  for (let i = 0; i < n; i++) {
    out.score[i] = (100 * out.score[i]!) / s.totalWeight;
    out.unknownShare[i] = out.unknownShare[i]! / s.totalWeight;
    out.reason[i] = stand.reason[cells[i]!]!;
  }
  addBackhaul(s, out, sky === null ? null : await sky);
  report(jobs.length + 1);
  return out;
}

/** One sweep per (site sample, service frequency): points as they are, areas and routes by the centres of at most 48 tiles. */
function planSweeps(s: Scenario): { jobs: ScreenSweep[]; groups: Group[] } {
  const jobs: ScreenSweep[] = [];
  const groups = new Map<string, Group>();
  for (const d of s.demands) {
    const key = `${d.site}:${d.serviceIndex}`;
    const known = groups.get(key);
    if (known) {
      known.demandIndexes.push(d.index);
      continue;
    }
    const site = s.sites[d.site]!;
    const service = d.service;
    const samples: Sample[] = site.tiles.length === 0 ? [site.centre] : pickTiles(site.tiles).map((t) => t.samples[4]!);
    const group: Group = { demandIndexes: [d.index], jobs: [] };
    for (const p of samples) {
      group.jobs.push(jobs.length);
      jobs.push({
        xM: p.xM,
        yM: p.yM,
        heightM: p.heightM,
        building: p.building,
        onRoof: p.onRoof,
        frequencyMHz: service.kind === "wifi" ? service.frequencyMHz : service.downlinkMHz,
        polarization: service.polarization ?? "vertical",
        receiverHeightM: s.unit.antennaHeightM,
      });
    }
    groups.set(key, group);
  }
  return { jobs, groups: [...groups.values()] };
}

function pickTiles<T>(tiles: readonly T[]): T[] {
  if (tiles.length <= SCREEN_TILES) return [...tiles];
  return Array.from({ length: SCREEN_TILES }, (_, i) => tiles[Math.floor(((i + 0.5) * tiles.length) / SCREEN_TILES)]!);
}

function addDemand(s: Scenario, demand: Demand, values: ScreenValues[], jobs: ScreenSweep[], out: Screening): void {
  const { grid } = s.scene;
  const { compiled, service, weight, target, tileTarget } = demand;
  const must = s.sites[demand.site]!.rung === "must";
  const isPoint = s.sites[demand.site]!.kind === "point";
  if (isPoint) {
    addPoint(s, demand, values[0]!, jobs[0]!, out);
    return;
  }
  const flat = service.antenna.pattern === "omni";
  const pattern = s.patterns[demand.serviceIndex]!;
  const tiles = jobs.length;
  // dB by which the margin has to exceed zero before the target probability is reached.
  const spread = inverseNormal(tileTarget) * compiled.sigmaDb;
  const shorts: number[] = [];
  const own = out.byDemand?.[demand.index] ?? null;
  for (let i = 0; i < out.cells.length; i++) {
    const index = out.cells[i]!;
    const col = index % grid.cols;
    const xM = grid.westM + (col + 0.5) * grid.cellM;
    const yM = grid.northM - ((index - col) / grid.cols + 0.5) * grid.cellM;
    let served = 0;
    let unknown = 0;
    shorts.length = 0;
    for (let j = 0; j < tiles; j++) {
      const lossDb = values[j]!.lossDb[i]!;
      if (Number.isNaN(lossDb)) {
        unknown++;
        continue;
      }
      const azimuth = flat ? 0 : Math.atan2(jobs[j]!.xM - xM, jobs[j]!.yM - yM) / DEG;
      const patternDb = pattern(azimuth, values[j]!.elevationDeg[i]!);
      if (compiled.probability(lossDb, patternDb) >= tileTarget) served++;
      if (must) shorts.push(Math.max(0, spread - compiled.marginDb(lossDb, patternDb)));
    }
    const low = served / tiles;
    const high = (served + unknown) / tiles;
    out.score[i]! += weight * low;
    if (own) own[i] = low;
    out.unknownShare[i]! += weight * (high - low);
    if (!must || low >= target) continue;
    if (high >= target) out.mustsUnknown[i]!++;
    else {
      out.mustsShort[i]!++;
      shorts.sort((a, b) => a - b);
      out.mustShortDb[i]! += shorts[Math.min(shorts.length, Math.ceil(target * tiles - 1e-9)) - 1] ?? 0;
    }
  }
}

/** The same for a single point: one sweep, whose probability is the term. */
function addPoint(s: Scenario, demand: Demand, values: ScreenValues, job: ScreenSweep, out: Screening): void {
  const { cols, westM, northM, cellM } = s.scene.grid;
  const { compiled, service, weight, target } = demand;
  const must = s.sites[demand.site]!.rung === "must";
  const flat = service.antenna.pattern === "omni";
  const pattern = s.patterns[demand.serviceIndex]!;
  const spread = inverseNormal(target) * compiled.sigmaDb;
  const { cells, score, unknownShare, mustsShort, mustShortDb, mustsUnknown } = out;
  const { lossDb, elevationDeg } = values;
  for (let i = 0; i < cells.length; i++) {
    const loss = lossDb[i]!;
    if (Number.isNaN(loss)) {
      unknownShare[i]! += weight;
      if (must) mustsUnknown[i]!++;
      continue;
    }
    let azimuth = 0;
    if (!flat) {
      const index = cells[i]!;
      const col = index % cols;
      const xM = westM + (col + 0.5) * cellM;
      const yM = northM - ((index - col) / cols + 0.5) * cellM;
      azimuth = Math.atan2(job.xM - xM, job.yM - yM) / DEG;
    }
    const patternDb = pattern(azimuth, elevationDeg[i]!);
    const p = compiled.probability(loss, patternDb);
    score[i]! += weight * p;
    if (!must || p >= target) continue;
    mustsShort[i]!++;
    mustShortDb[i]! += Math.max(0, spread - compiled.marginDb(loss, patternDb));
  }
}

/** Dish clearance and the other ways back, cell by cell. */
function addBackhaul(s: Scenario, out: Screening, sky: SkyValues[] | null): void {
  const n = out.cells.length;
  const wired = new Uint8Array(s.scene.grid.cols * s.scene.grid.rows);
  for (const d of s.drops) {
    const at: [number, number] = [d.at.xM, d.at.yM];
    const reach = dropReachM(s, d);
    forCellsNearSegment(s.scene.grid, at, at, reach, (i, xM, yM) => {
      if (Math.hypot(xM - d.at.xM, yM - d.at.yM) <= reach) wired[i] = 1;
    });
  }
  for (let i = 0; i < n; i++) if (wired[out.cells[i]!] === 1) out.backhaul[i] = 2;
  if (s.dish && sky !== null) {
    for (let i = 0; i < n; i++) {
      let best = Number.NEGATIVE_INFINITY;
      let unknown = false;
      for (const v of sky) {
        const hard = v.clearanceDeg[i]!;
        const tree = v.treeClearanceDeg ? v.treeClearanceDeg[i]! : Number.POSITIVE_INFINITY;
        if (Number.isNaN(hard) || Number.isNaN(tree)) unknown = true;
        else if (hard >= s.dish.marginDeg && tree >= s.dish.treeMarginDeg) best = Math.max(best, hard);
      }
      const clear = Number.isFinite(best);
      out.clearanceDeg[i] = clear ? best : unknown ? Number.NaN : Number.NEGATIVE_INFINITY;
      if (clear) out.backhaul[i] = 2;
      else if (unknown && out.backhaul[i] === 0) out.backhaul[i] = 1;
    }
    if (s.dish.apart) lendFromNeighbours(s, out);
  }
  addDonors(s, out);
  if (hasSky(s) && s.backhaulRequired)
    for (let i = 0; i < n; i++) if (out.backhaul[i] === 0 && out.reason[i] === 0) out.reason[i] = REASON.sky;
}

/** A dish that may stand apart serves every cell within its cable of a clear one. */
function lendFromNeighbours(s: Scenario, out: Screening): void {
  const { grid } = s.scene;
  const reach = Math.max(0, Math.floor(s.dish!.cableM / grid.cellM));
  if (reach === 0) return;
  const clear = new Uint8Array(grid.cols * grid.rows);
  for (let i = 0; i < out.cells.length; i++) if (Number.isFinite(out.clearanceDeg[i]!)) clear[out.cells[i]!] = 1;
  const lent = distanceAtMost(clear, grid.cols, grid.rows, reach);
  for (let i = 0; i < out.cells.length; i++) if (lent[out.cells[i]!] === 1) out.backhaul[i] = 2;
}

/** Cells within `reach` cells of a marked one: exact Euclidean distance in two passes (Felzenszwalb and Huttenlocher 2012). */
function distanceAtMost(marked: Uint8Array, cols: number, rows: number, reach: number): Uint8Array {
  const far = 1e9;
  const column = new Float64Array(cols * rows);
  for (let c = 0; c < cols; c++) {
    let d = far;
    for (let r = 0; r < rows; r++) column[r * cols + c] = d = marked[r * cols + c] ? 0 : d + 1;
    d = far;
    for (let r = rows - 1; r >= 0; r--) {
      d = marked[r * cols + c] ? 0 : d + 1;
      column[r * cols + c] = Math.min(column[r * cols + c]!, d);
    }
  }
  const out = new Uint8Array(cols * rows);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < cols; c++) {
      for (let dc = -reach; dc <= reach && out[r * cols + c] === 0; dc++) {
        const cc = c + dc;
        if (cc < 0 || cc >= cols) continue;
        const dr = column[r * cols + cc]!;
        if (dr <= reach && dr * dr + dc * dc <= reach * reach) out[r * cols + c] = 1;
      }
    }
  return out;
}

/** Donor paths are tested one by one: a plan has few donors and the test stops at the first that passes. */
function addDonors(s: Scenario, out: Screening): void {
  if (s.donors.length === 0) return;
  const profile = createProfile();
  for (let i = 0; i < out.cells.length; i++) {
    if (out.backhaul[i] === 2) continue;
    const index = out.cells[i]!;
    const at: XY = placeOf(s.scene.grid, index % s.scene.grid.cols, Math.floor(index / s.scene.grid.cols));
    for (const d of s.donors) {
      samplePath(
        s.scene,
        unitEnd(s, at),
        { xM: d.at.xM, yM: d.at.yM, heightM: d.antennaHeightM, building: -1, onRoof: false },
        profile,
      );
      const ratio = clearance(profile, d.frequencyMHz, s.k).fresnelRatio;
      if (profile.unknownShare > 0 && !(ratio < DONOR_FRESNEL)) out.backhaul[i] = 1;
      else if (ratio >= DONOR_FRESNEL) {
        out.backhaul[i] = 2;
        break;
      }
    }
  }
}
