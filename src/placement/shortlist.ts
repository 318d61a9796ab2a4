import type { Grid } from "../terrain/scene.ts";
import type { Screening } from "./screen.ts";

/** Shortfalls up to this may be screening's error rather than the ground's: such cells stay in the race. */
const RELAXED_SHORT_DB = 3;

/** One number that puts cells in the order of the rungs: lower is better; Infinity for struck-out cells. */
export function screenKey(screening: Screening, i: number): number {
  if (screening.reason[i] !== 0) return Number.POSITIVE_INFINITY;
  const shortDb = screening.mustShortDb[i]!;
  const relaxed = shortDb <= RELAXED_SHORT_DB;
  return (
    (relaxed ? shortDb : screening.mustsShort[i]! * 1e9 + Math.min(shortDb, 999) * 1e6) +
    screening.mustsUnknown[i]! * 1e4 +
    (screening.backhaul[i] === 1 ? 1e3 : 0) +
    (100 - screening.score[i]!)
  );
}

/** Picks cells best first, none within the separation of an earlier one (non-maximum suppression); resumable. */
export class Shortlister {
  private readonly keys: Float64Array;
  private readonly suppressed: Uint8Array;

  constructor(
    private readonly screening: Screening,
    private readonly grid: Grid,
    private readonly separationM: number,
  ) {
    this.keys = Float64Array.from({ length: screening.cells.length }, (_, i) => screenKey(screening, i));
    this.suppressed = new Uint8Array(screening.cells.length);
  }

  /** Position (in screening.cells) of the next best cell, or −1 when none is left. Ties go to the lower cell index. */
  next(): number {
    let best = -1;
    let bestKey = Number.POSITIVE_INFINITY;
    for (let i = 0; i < this.keys.length; i++)
      if (this.suppressed[i] === 0 && this.keys[i]! < bestKey) {
        best = i;
        bestKey = this.keys[i]!;
      }
    if (best >= 0) this.suppressAround(this.screening.cells[best]!);
    return best;
  }

  suppressAround(cell: number): void {
    const { cols, cellM } = this.grid;
    const reach2 = (this.separationM / cellM) ** 2;
    const c0 = cell % cols;
    const r0 = Math.floor(cell / cols);
    const { cells } = this.screening;
    for (let i = 0; i < cells.length; i++) {
      const dc = (cells[i]! % cols) - c0;
      const dr = Math.floor(cells[i]! / cols) - r0;
      if (dc * dc + dr * dr < reach2 || cells[i] === cell) this.suppressed[i] = 1;
    }
  }
}
