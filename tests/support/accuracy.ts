import { expect } from "vitest";
import { recordAccuracy } from "./accuracy-table.ts";

/** Gathers differences, remembers the worst with its label, then gates and records it. */
export class Worst {
  private worst = 0;
  private count = 0;
  private label = "";

  constructor(
    private readonly model: string,
    private readonly source: string,
    private readonly quantity: string,
    private readonly tolerance: number,
    private readonly unit = "dB",
  ) {}

  add(got: number | undefined, want: number, label: string): void {
    this.count++;
    const difference = got === undefined ? Number.POSITIVE_INFINITY : Math.abs(got - want);
    // A NaN difference is the worst there is.
    if (!(difference <= this.worst)) {
      this.worst = Number.isNaN(difference) ? Number.POSITIVE_INFINITY : difference;
      this.label = `${label}: got ${got}, want ${want}`;
    }
  }

  /** Expects at least `atLeast` values and the worst within tolerance. */
  check(atLeast = 1): void {
    recordAccuracy({
      model: this.model,
      source: this.source,
      quantity: this.quantity,
      unit: this.unit,
      count: this.count,
      worst: this.worst,
      tolerance: this.tolerance,
    });
    expect(this.count).toBeGreaterThanOrEqual(atLeast);
    expect(this.worst, this.label).toBeLessThanOrEqual(this.tolerance);
  }
}
