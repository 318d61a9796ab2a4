import type { Scene } from "../terrain/scene.ts";
import { DEG } from "../units/index.ts";
import type { Scenario } from "./scenario.ts";

/**
 * True when the ground is fine enough to know a slope under the footprint: its own posting is at most a third of the
 * footprint's shorter side, and it is measured, not estimated from a surface.
 */
export function slopeIsKnown(s: Pick<Scenario, "scene" | "unit">): boolean {
  return !s.scene.groundEstimated && s.scene.groundPostingM <= Math.min(s.unit.lengthM, s.unit.widthM) / 3 + 1e-9;
}

/**
 * Slope of the plane that fits the ground under a footprint best (least squares over the cell centres in the box), degrees.
 * NaN where any of the ground under it is void, or where the box holds fewer than 2 × 2 cells.
 */
export function slopeDeg(scene: Scene, col: number, row: number, lengthM: number, widthM: number): number {
  const { grid, groundM } = scene;
  const half = Math.max(1, Math.round(Math.max(lengthM, widthM) / 2 / grid.cellM));
  let sx = 0;
  let sy = 0;
  let sxx = 0;
  let syy = 0;
  let n = 0;
  for (let dr = -half; dr <= half; dr++) {
    const r = row + dr;
    if (r < 0 || r >= grid.rows) return Number.NaN;
    for (let dc = -half; dc <= half; dc++) {
      const c = col + dc;
      if (c < 0 || c >= grid.cols) return Number.NaN;
      const z = groundM[r * grid.cols + c]!;
      sx += dc * z;
      sy += dr * z;
      sxx += dc * dc;
      syy += dr * dr;
      n++;
    }
  }
  if (n < 4) return Number.NaN;
  // The window is symmetric, so the normal equations fall apart into two quotients.
  return Math.atan(Math.hypot(sx / (sxx * grid.cellM), sy / (syy * grid.cellM))) / DEG;
}
