import type { Layout } from "./layout.ts";

/** What the cells of a raster look like, gathered in one pass over settled rows, north to south. */
export interface RasterStats {
  cells: number;
  valid: number;
  min: number | null;
  max: number | null;
  mean: number | null;
  /** Cells dropped because their heights are outside what the Earth has. */
  outOfRange: number;
  zeros: number;
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
  private valid = 0;
  private zeros = 0;
  private min = Infinity;
  private max = -Infinity;
  private sum = 0;
  private s1 = 0;
  private n1 = 0;
  private s8 = 0;
  private n8 = 0;
  private d1 = 0;
  private readonly seen = new Uint32Array(65_536);
  private distinct = 0;
  private whole = true;
  private readonly layout: Layout;

  constructor(layout: Layout) {
    this.layout = layout;
  }

  add(row: number, rows: number, values: Float32Array): void {
    const { width, height } = this.layout;
    let { valid, zeros, min, max, sum } = this;
    const n = rows * width;
    for (let i = 0; i < n; i++) {
      const v = values[i]!;
      if (Number.isNaN(v)) continue;
      valid++;
      sum += v;
      if (v < min) min = v;
      if (v > max) max = v;
      if (v === 0) zeros++;
    }
    Object.assign(this, { valid, zeros, min, max, sum });
    const every = height > 1000 ? 4 : 1;
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
    const some = this.valid > 0;
    const looked = this.seen.reduce((a, b) => a + b, 0);
    const most = this.seen.reduce((a, b) => (b > a ? b : a), 0);
    return {
      cells: width * height,
      valid: this.valid,
      min: some ? this.min : null,
      max: some ? this.max : null,
      mean: some ? this.sum / this.valid : null,
      outOfRange,
      zeros: this.zeros,
      distinct: this.whole ? this.distinct : null,
      modalShare: this.whole && looked > 0 ? most / looked : null,
      changeShare: this.n1 > 0 ? this.d1 / this.n1 : 0,
      step1: this.d1 > 0 ? this.s1 / this.d1 : null,
      step8: this.n8 > 0 ? this.s8 / this.n8 : null,
    };
  }
}
