import type { XY } from "../geodesy/types.ts";
import { placeOf } from "../terrain/scene.ts";
import type { Evaluation } from "./evaluate.ts";
import type { RankExecutor } from "./executor.ts";
import type { Scenario } from "./scenario.ts";
import type { Screening } from "./screen.ts";
import { screenKey } from "./shortlist.ts";

/** Order of two evaluations at the rungs a climb can move: musts short, dB short, unknown musts, score. Negative: a is better. */
export function compareEvaluations(a: Evaluation, b: Evaluation): number {
  return (
    a.mustsShort - b.mustsShort || a.mustShortDb - b.mustShortDb || a.mustsUnknown - b.mustsUnknown || b.score - a.score
  );
}

/** Refined evaluations already made, by cell: shared by all climbs of a run. */
export class EvaluationStore {
  readonly byCell = new Map<number, Evaluation>();
  /** |screened − refined| score of every cell evaluated. */
  readonly differences: number[] = [];

  constructor(
    private readonly s: Scenario,
    private readonly screening: Screening,
    private readonly executor: RankExecutor,
  ) {}

  /** Position in screening.cells by grid index, −1 where not a candidate. */
  private positions: Int32Array | null = null;

  position(cell: number): number {
    if (this.positions === null) {
      this.positions = new Int32Array(this.s.scene.grid.cols * this.s.scene.grid.rows).fill(-1);
      this.screening.cells.forEach((c, i) => {
        this.positions![c] = i;
      });
    }
    return this.positions[cell]!;
  }

  place(cell: number): XY {
    const { grid } = this.s.scene;
    return placeOf(grid, cell % grid.cols, Math.floor(cell / grid.cols));
  }

  async evaluate(cells: readonly number[], onDone: (done: number) => void, signal?: AbortSignal): Promise<void> {
    const missing = [...new Set(cells)].filter((c) => !this.byCell.has(c));
    if (missing.length === 0) return;
    const found = await this.executor.evaluate(
      missing.map((c) => this.place(c)),
      onDone,
      signal,
    );
    missing.forEach((c, i) => {
      this.byCell.set(c, found[i]!);
      const position = this.position(c);
      if (position >= 0) this.differences.push(Math.abs(this.screening.score[position]! - found[i]!.score));
    });
  }

  /** 99th percentile of |screened − refined| over the cells evaluated so far (the largest of few). */
  delta(): number {
    if (this.differences.length === 0) return 0;
    const sorted = [...this.differences].sort((a, b) => a - b);
    return sorted[Math.min(sorted.length - 1, Math.ceil(0.99 * sorted.length) - 1)]!;
  }
}

interface Climber {
  start: number;
  now: number;
  stepCells: number;
  spent: number;
}

/** Refined evaluations one climb may spend. */
const BUDGET = 48;

/**
 * Climbs from each start to the best refined cell within the separation: eight neighbours at a step that halves down to one cell.
 * Neighbours whose screened standing is worse than the present cell's by more than screening's error are not evaluated.
 * All climbs go in step, so that the evaluations of one round run side by side.
 */
export async function climb(
  s: Scenario,
  screening: Screening,
  store: EvaluationStore,
  starts: readonly number[],
  onDone: (done: number) => void,
  signal?: AbortSignal,
): Promise<number[]> {
  const { grid } = s.scene;
  const reach = Math.max(1, Math.floor(s.separationM / grid.cellM));
  const climbers: Climber[] = starts.map((cell) => ({
    start: cell,
    now: cell,
    stepCells: Math.max(1, Math.floor(reach / 2)),
    spent: 0,
  }));
  let round = 0;
  for (;;) {
    const slack = store.delta() + 0.5;
    const active = climbers.filter((c) => c.stepCells >= 1 && c.spent < BUDGET);
    if (active.length === 0) return climbers.map((c) => c.now);
    const wanted = active.map((c) => neighbours(s, screening, store, c, reach, slack));
    await store.evaluate(wanted.flat(), () => onDone(round), signal);
    active.forEach((c, i) => {
      c.spent += wanted[i]!.length;
      let best = c.now;
      for (const cell of wanted[i]!) {
        const order = compareEvaluations(store.byCell.get(cell)!, store.byCell.get(best)!);
        if (order < 0 || (order === 0 && cell < best && best !== c.now)) best = cell;
      }
      if (best === c.now) c.stepCells = c.stepCells === 1 ? 0 : Math.floor(c.stepCells / 2);
      else c.now = best;
    });
    round++;
  }
}

function neighbours(
  s: Scenario,
  screening: Screening,
  store: EvaluationStore,
  c: Climber,
  reach: number,
  slack: number,
): number[] {
  const { cols, rows } = s.scene.grid;
  const col = c.now % cols;
  const row = Math.floor(c.now / cols);
  const startCol = c.start % cols;
  const startRow = Math.floor(c.start / cols);
  const limit = screenKey(screening, store.position(c.now)) + slack;
  const out: number[] = [];
  for (let dr = -1; dr <= 1; dr++)
    for (let dc = -1; dc <= 1; dc++) {
      if (dr === 0 && dc === 0) continue;
      const cc = col + dc * c.stepCells;
      const rr = row + dr * c.stepCells;
      if (cc < 0 || rr < 0 || cc >= cols || rr >= rows) continue;
      if ((cc - startCol) ** 2 + (rr - startRow) ** 2 > reach * reach) continue;
      const position = store.position(rr * cols + cc);
      if (position < 0 || screening.reason[position] !== 0 || screenKey(screening, position) > limit) continue;
      out.push(rr * cols + cc);
    }
  return out;
}
