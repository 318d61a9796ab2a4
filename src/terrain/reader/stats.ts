import type { Layout } from "./layout.ts";
import { ACCUMULATORS, addRow } from "./stats.kernel.ts";

/** What the cells of a raster look like, gathered in one pass over settled rows, north to south. */
export interface RasterStats {
  cells: number;
  valid: number;
  min: number | null;
  max: number | null;
  mean: number | null;
  /** Cells dropped because their heights are outside what the Earth has. */
  outOfRange: number;
  /** Neighbours along rows that differ by more than `jumpM`. */
  jumps: number;
  jumpM: number;
  /** Distinct whole numbers among the cells looked at; null when some are not whole or need more than 16 bits. */
  distinct: number | null;
  /** Share of the most frequent whole number among the cells looked at; null when `distinct` is. */
  modalShare: number | null;
  /** Share of neighbours along rows that differ, and by how much on the mean those that do; null when none do. */
  changeShare: number;
  step1: number | null;
  /** The same mean for cells eight apart. */
  step8: number | null;
}

/** Gathers RasterStats; rows must come in order so that the sums are the same on every run. */
export class StatsGatherer {
  private readonly acc = new Float64Array(ACCUMULATORS);
  private s1 = 0;
  private n1 = 0;
  private s8 = 0;
  private n8 = 0;
  private d1 = 0;
  private readonly seen = new Uint32Array(65_536);
  private distinct = 0;
  private whole = true;
  private readonly layout: Layout;

  private readonly jump: number;

  /** @param jump  difference of two neighbours that is worth a warning, metres */
  constructor(layout: Layout, jump: number) {
    this.layout = layout;
    this.jump = jump;
    this.acc[2] = Infinity;
    this.acc[3] = -Infinity;
  }

  add(row: number, rows: number, values: Float32Array): void {
    const { width, height } = this.layout;
    for (let r = 0; r < rows; r++) addRow(values, r * width, width, this.jump, this.acc);
    const every = height > 1000 ? 8 : 1;
    for (let r = 0; r < rows; r++) if ((row + r) % every === 0) this.look(values, r * width, width);
  }

  private look(values: Float32Array, at: number, width: number): void {
    let { s1, n1, d1, s8, n8, whole, distinct } = this;
    const { seen } = this;
    for (let i = 0; i < width; i++) {
      const v = values[at + i]!;
      if (Number.isNaN(v)) continue;
      if (i >= 1) {
        const d = v - values[at + i - 1]!;
        if (!Number.isNaN(d)) {
          n1++;
          if (d !== 0) {
            s1 += d < 0 ? -d : d;
            d1++;
          }
        }
      }
      if (i >= 8) {
        const d = v - values[at + i - 8]!;
        if (d < 0 || d > 0) {
          s8 += d < 0 ? -d : d;
          n8++;
        }
      }
      if (whole) {
        // Elevations and class codes both lie well inside ±32,768.
        if (v !== Math.floor(v) || v < -32_768 || v > 32_767) whole = false;
        else if (seen[v + 32_768]!++ === 0) distinct++;
      }
    }
    Object.assign(this, { s1, n1, d1, s8, n8, whole, distinct });
  }

  result(outOfRange: number): RasterStats {
    const { width, height } = this.layout;
    const [valid, sum, min, max, jumps] = this.acc as unknown as [number, number, number, number, number];
    const some = valid > 0;
    const looked = this.seen.reduce((a, b) => a + b, 0);
    const most = this.seen.reduce((a, b) => Math.max(a, b), 0);
    return {
      cells: width * height,
      valid,
      min: some ? min : null,
      max: some ? max : null,
      mean: some ? sum / valid : null,
      outOfRange,
      jumps,
      jumpM: this.jump,
      distinct: this.whole ? this.distinct : null,
      modalShare: this.whole && looked > 0 ? most / looked : null,
      changeShare: this.n1 > 0 ? this.d1 / this.n1 : 0,
      step1: this.d1 > 0 ? this.s1 / this.d1 : null,
      step8: this.n8 > 0 ? this.s8 / this.n8 : null,
    };
  }
}

/** Difference between two neighbouring cells that only a sheer wall explains: 100 m and five cells more. */
export const jumpLimitM = (cellM: number): number => Math.round(100 + 5 * cellM);
