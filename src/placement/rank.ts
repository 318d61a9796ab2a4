import { cancelled } from "../errors/index.ts";
import { REJECT_REASONS } from "../plan/outputs/rank.ts";
import type { Provenance, RankAnswer, Spot } from "../plan/outputs/types.ts";
import type { Grid } from "../terrain/scene.ts";
import { cautionsFor } from "./cautions.ts";
import { climb, EvaluationStore } from "./climb.ts";
import { dishPlace } from "./dish-apart.ts";
import { sitePairs } from "./evaluate.ts";
import type { RankExecutor, RunHooks } from "./executor.ts";
import { nearestMisses } from "./misses.ts";
import { nameSpots } from "./names.ts";
import { orderSpots } from "./order.ts";
import { reasonsFor } from "./reasons.ts";
import { rolesFor } from "./roles.ts";
import type { Scenario } from "./scenario.ts";
import { type Screening, screen } from "./screen.ts";
import { Shortlister, screenKey } from "./shortlist.ts";
import { type ExaminedSpot, examineSpot, spotAnswer } from "./spot-detail.ts";
import { stability } from "./stability.ts";
import type { SkyWhen } from "./when.ts";

/** The suitability surface as maps and files take it. */
export interface SuitabilitySurface {
  grid: Grid;
  /** Score each cell would get, NaN outside parking and where nothing is known. */
  scorePct: Float32Array;
  /** 0 usable parking or outside; else 1 + index in REJECT_REASONS; 255 unknown. */
  reason: Uint8Array;
}

export interface Ranking {
  answer: RankAnswer;
  surface: SuitabilitySurface;
  screening: Screening;
}

export interface RankOptions {
  executor: RankExecutor;
  when: SkyWhen;
  provenance: Provenance;
  hooks?: RunHooks;
  /** Refine every cell where that takes at most this many paths; default 20,000. 0 always screens. */
  refineAllPaths?: number;
}

/** So few paths that every cell is refined and nothing is left to screening. */
const BRUTE_PATHS = 20_000;
/** The shortlist grows at most this many times its wanted length. */
const GROWTH = 4;

const STEPS = 4;

/** The main job: screens every cell, refines the best, puts them in order, explains. */
export async function rank(s: Scenario, options: RankOptions): Promise<Ranking> {
  const { executor, hooks = {} } = options;
  const progress = (step: string, stepIndex: number, done: number, total: number): void => {
    if (hooks.signal?.aborted) throw cancelled("the run");
    hooks.onProgress?.({ step, stepIndex, stepCount: STEPS, done, total });
  };
  const screening = await screen(s, executor, hooks, { index: 1, count: STEPS });
  const store = new EvaluationStore(s, screening, executor);

  const usable: number[] = [];
  for (let i = 0; i < screening.cells.length; i++) if (screening.reason[i] === 0) usable.push(i);
  const pathsPerSpot = sitePairs(s).reduce((n, p) => n + Math.max(1, s.sites[p.site]!.tiles.length * 9), 0);
  const brute = usable.length > 0 && usable.length * pathsPerSpot <= (options.refineAllPaths ?? BRUTE_PATHS);

  let finals: number[];
  if (brute) {
    const cells = usable.map((i) => screening.cells[i]!);
    progress("Checking every cell in full", 2, 0, cells.length);
    await store.evaluate(cells, (done) => progress("Checking every cell in full", 2, done, cells.length), hooks.signal);
    for (const i of usable) screening.score[i] = store.byCell.get(screening.cells[i]!)!.score;
    finals = pickRefined(s, screening, store);
  } else {
    finals = await shortlistAndClimb(s, screening, store, progress, hooks);
  }

  progress("Looking at sky, stand and ways back", 3, 0, finals.length);
  const examined: ExaminedSpot[] = finals.map((cell, i) => {
    const at = store.place(cell);
    const position = store.position(cell);
    const spot = examineSpot(s, at, options.when, {
      cell,
      screenedScore: screening.score[position]!,
      evaluation: store.byCell.get(cell)!,
      dishAt: dishPlace(s, screening, at),
    });
    progress("Looking at sky, stand and ways back", 3, i + 1, finals.length);
    return spot;
  });
  for (const named of s.namedSpots)
    examined.push(
      examineSpot(s, named.at, options.when, { cell: -1 - examined.length, screenedScore: Number.NaN, dishAt: null }),
    );

  progress("Trying how firm the order is", 4, 0, 1);
  const answer = buildAnswer(s, screening, store, examined, options);
  progress("Trying how firm the order is", 4, 1, 1);
  return { answer, surface: surfaceOf(s, screening), screening };
}

async function shortlistAndClimb(
  s: Scenario,
  screening: Screening,
  store: EvaluationStore,
  progress: (step: string, stepIndex: number, done: number, total: number) => void,
  hooks: RunHooks,
): Promise<number[]> {
  const list = new Shortlister(screening, s.scene.grid, s.separationM);
  const starts: number[] = [];
  const step = "Checking spots in full";
  for (let i = 0; i < s.shortlist; i++) {
    const position = list.next();
    if (position < 0) break;
    starts.push(screening.cells[position]!);
  }
  starts.push(...bestOfUnseenAreas(s, screening, starts));
  progress(step, 2, 0, starts.length);
  await store.evaluate(starts, (done) => progress(step, 2, done, starts.length), hooks.signal);
  let finals = await climb(
    s,
    screening,
    store,
    starts,
    () => progress(step, 2, starts.length, starts.length),
    hooks.signal,
  );

  // Screening and refinement differ by up to δ, so cells screened within δ of the best may still win.
  let added = 0;
  while (added < s.shortlist * (GROWTH - 1)) {
    const position = list.next();
    if (position < 0) break;
    const bestKey = Math.min(...starts.map((c) => screenKey(screening, store.position(c))));
    if (screenKey(screening, position) > bestKey + store.delta()) break;
    const cell = screening.cells[position]!;
    starts.push(cell);
    added++;
    progress(step, 2, starts.length - 1, starts.length);
    await store.evaluate([cell], () => undefined, hooks.signal);
    finals = [...finals, ...(await climb(s, screening, store, [cell], () => undefined, hooks.signal))];
  }
  return keepAreas(s, screening, spread(s, store, [...new Set(finals)]));
}

/** A second choice has to be elsewhere: the best cell of every parking area that the shortlist passed over. */
function bestOfUnseenAreas(s: Scenario, screening: Screening, starts: readonly number[]): number[] {
  const { parkingAt } = screening.stand;
  const seen = new Set(starts.map((c) => parkingAt[c]!));
  const best = new Map<number, { cell: number; key: number }>();
  for (let i = 0; i < screening.cells.length; i++) {
    const cell = screening.cells[i]!;
    const area = parkingAt[cell]!;
    if (seen.has(area)) continue;
    const key = screenKey(screening, i);
    if (key < (best.get(area)?.key ?? Number.POSITIVE_INFINITY)) best.set(area, { cell, key });
  }
  return [...best.values()]
    .sort((a, b) => a.key - b.key || a.cell - b.cell)
    .slice(0, s.shortlist)
    .map((b) => b.cell);
}

/** Climbs may end close together: of two nearer than half the separation the better stays. */
function spread(s: Scenario, store: EvaluationStore, cells: number[]): number[] {
  const order = [...cells].sort((a, b) => {
    const x = store.byCell.get(a)!;
    const y = store.byCell.get(b)!;
    return (
      x.mustsShort - y.mustsShort ||
      x.mustShortDb - y.mustShortDb ||
      x.mustsUnknown - y.mustsUnknown ||
      y.score - x.score ||
      a - b
    );
  });
  const kept: number[] = [];
  for (const cell of order) {
    const p = store.place(cell);
    const free = kept.every((k) => {
      const q = store.place(k);
      return Math.hypot(p.xM - q.xM, p.yM - q.yM) >= s.separationM / 2;
    });
    if (free) kept.push(cell);
  }
  return kept;
}

/** The best of the list up to its wanted length, and the best of every parking area beyond it. */
function keepAreas(s: Scenario, screening: Screening, ordered: readonly number[]): number[] {
  const { parkingAt } = screening.stand;
  const areas = new Set(ordered.slice(0, s.shortlist).map((c) => parkingAt[c]!));
  return ordered.filter((c, i) => {
    if (i < s.shortlist) return true;
    if (areas.has(parkingAt[c]!)) return false;
    areas.add(parkingAt[c]!);
    return true;
  });
}

/** Every cell is refined: take the best ones, a separation apart. */
function pickRefined(s: Scenario, screening: Screening, store: EvaluationStore): number[] {
  const cells = [...store.byCell.keys()].filter((c) => screening.reason[store.position(c)] === 0);
  const order = cells.sort((a, b) => {
    const x = store.byCell.get(a)!;
    const y = store.byCell.get(b)!;
    return (
      x.mustsShort - y.mustsShort ||
      x.mustShortDb - y.mustShortDb ||
      x.mustsUnknown - y.mustsUnknown ||
      y.score - x.score ||
      a - b
    );
  });
  const kept: number[] = [];
  for (const cell of order) {
    const p = store.place(cell);
    if (kept.every((k) => Math.hypot(p.xM - store.place(k).xM, p.yM - store.place(k).yM) >= s.separationM))
      kept.push(cell);
    if (kept.length === s.shortlist) break;
  }
  return kept;
}

function buildAnswer(
  s: Scenario,
  screening: Screening,
  store: EvaluationStore,
  examined: ExaminedSpot[],
  options: RankOptions,
): RankAnswer {
  const ordered = orderSpots(examined);
  const list = ordered.map((o) => o.item);
  const names = nameSpots(s, list);
  const roles = rolesFor(s, list);
  const firm = stability(s, list, s.draws, s.seed);
  const spots: Spot[] = ordered.map((o, i) => {
    const next = list[i + 1] ?? null;
    const reasons = reasonsFor(o.item, next, i + 2, o.decidedBy);
    if (s.draws > 0)
      reasons.push(
        `First in ${Math.round((firm[i]!.firstPct * s.draws) / 100)} of ${s.draws} draws of the model's error.`,
      );
    return spotAnswer(s, o.item, {
      rank: i + 1,
      role: roles[i]!,
      name: names[i]!,
      tied: o.tied,
      decidedBy: o.decidedBy,
      reasons,
      stabilityPct: s.draws > 0 ? firm[i]!.firstPct : null,
      topThreePct: s.draws > 0 ? firm[i]!.topThreePct : null,
      scoreRange: s.draws > 0 ? firm[i]!.scoreRange : null,
    });
  });
  const feasibleCount = spots.filter((p) => p.feasible).length;
  const hectaresPerCell = s.scene.grid.cellM ** 2 / 10_000;
  const counts = new Map<number, number>();
  for (let i = 0; i < screening.cells.length; i++) {
    const r = screening.reason[i]!;
    if (r !== 0) counts.set(r, (counts.get(r) ?? 0) + 1);
  }
  const usable = screening.cells.length - [...counts.values()].reduce((a, b) => a + b, 0);
  return {
    plan: s.loaded.plan.name,
    spots,
    feasibleCount,
    parking: {
      totalHectares: screening.stand.parkingCells * hectaresPerCell,
      usableHectares: usable * hectaresPerCell,
      cells: screening.stand.parkingCells,
      cellM: s.scene.grid.cellM,
    },
    rejected: REJECT_REASONS.flatMap((reason, i) =>
      counts.has(i + 1) ? [{ reason, hectares: counts.get(i + 1)! * hectaresPerCell }] : [],
    ),
    nearestMisses: feasibleCount === 0 ? nearestMisses(s, screening, list) : [],
    screening: {
      deltaScore: store.delta(),
      refinedCells: store.byCell.size,
      sweeps: screening.sweeps,
      direction: "from-points",
    },
    warnings: [...s.loaded.warnings, ...s.scene.warnings],
    cautions: cautionsFor(s),
    provenance: options.provenance,
  };
}

function surfaceOf(s: Scenario, screening: Screening): SuitabilitySurface {
  const { grid } = s.scene;
  const scorePct = new Float32Array(grid.cols * grid.rows).fill(Number.NaN);
  const reason = new Uint8Array(grid.cols * grid.rows);
  for (let i = 0; i < screening.stand.parkingAt.length; i++)
    if (screening.stand.parkingAt[i] !== 0) reason[i] = screening.stand.reason[i]!;
  for (let i = 0; i < screening.cells.length; i++) {
    scorePct[screening.cells[i]!] = screening.score[i]!;
    reason[screening.cells[i]!] = screening.reason[i]!;
  }
  return { grid, scorePct, reason };
}
