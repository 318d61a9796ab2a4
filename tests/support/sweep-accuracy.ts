import {
  createSweepOut,
  DEFAULT_EFFECTIVE_RADIUS_KM,
  type SweepJob,
  sweepLoss,
  sweepVisible,
  VISIBLE,
} from "../../src/coverage/index.ts";
import { noise } from "./closed-form-terrain.ts";
import type { RealCase } from "./real-ground.ts";
import { referenceAt } from "./reference-grid.ts";
import { oracleVisible } from "./visibility-oracle.ts";

export interface ErrorStats {
  count: number;
  mean: number;
  sd: number;
  median: number;
  p95: number;
  p99: number;
  worst: number;
}

export function errorStats(errors: number[]): ErrorStats {
  const sorted = [...errors].sort((a, b) => a - b);
  const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
  const mean = sorted.reduce((sum, e) => sum + e, 0) / sorted.length;
  const sd = Math.sqrt(sorted.reduce((sum, e) => sum + (e - mean) ** 2, 0) / sorted.length);
  return { count: sorted.length, mean, sd, median: at(0.5), p95: at(0.95), p99: at(0.99), worst: at(1) };
}

export function lossJob(real: RealCase): SweepJob & { effectiveRadiusKm: number } {
  const { terrain, col, row } = real;
  return {
    col,
    row,
    antennaAmslM: terrain.groundM[row * terrain.cols + col]! + real.antennaM,
    receiverHeightM: real.receiverHeightM,
    frequencyMHz: real.frequencyMHz,
    effectiveRadiusKm: DEFAULT_EFFECTIVE_RADIUS_KM,
    polarization: "vertical",
    maxRangeM: real.maxRangeM,
    mask: null,
    canopy: "solid",
  };
}

/**
 * |sweep − profile by profile over the exact line|, dB: at random cells, and at cells that a ray passes exactly (the axes).
 */
export function lossErrors(
  real: RealCase,
  samples: number,
  seed: number,
): { cells: ErrorStats; exactRays: ErrorStats } {
  const { terrain, col, row } = real;
  const job = lossJob(real);
  const out = createSweepOut(terrain.cols * terrain.rows);
  sweepLoss(terrain, job, out);
  const error = (c: number, r: number) => {
    const value = out.lossDb[r * terrain.cols + c]!;
    if (Number.isNaN(value) || (c === col && r === row)) return;
    return Math.abs(value - referenceAt(terrain, job, c, r).lossDb);
  };
  const random = noise(seed);
  const cells: number[] = [];
  while (cells.length < samples) {
    const e = error(Math.floor(random() * terrain.cols), Math.floor(random() * terrain.rows));
    if (e !== undefined) cells.push(e);
  }
  const exactRays: number[] = [];
  const keep = (e: number | undefined) => {
    if (e !== undefined) exactRays.push(e);
  };
  for (let c = 0; c < terrain.cols; c += 3) keep(error(c, row));
  for (let r = 0; r < terrain.rows; r += 3) keep(error(col, r));
  if (real.maxRangeM > 1e8)
    for (let r = 0; r < terrain.rows; r += 3)
      if (Math.abs(r - row) <= terrain.cols - 1 - col) keep(error(terrain.cols - 1, r));
  return { cells: errorStats(cells), exactRays: errorStats(exactRays) };
}

/** Share of random cells (in range) where the visibility sweep and the straight-line march say the same. */
export function visibilityAgreement(real: RealCase, samples: number, seed: number, other?: Uint8Array): number {
  const { terrain, col, row, maxRangeM } = real;
  const eye = { col, row, eyeAmslM: lossJob(real).antennaAmslM, targetHeightM: real.receiverHeightM };
  let out = other;
  if (out === undefined) {
    out = new Uint8Array(terrain.cols * terrain.rows);
    sweepVisible(terrain, { ...eye, maxRangeM, mask: null }, out);
  }
  const random = noise(seed);
  let count = 0;
  let same = 0;
  while (count < samples) {
    const c = Math.floor(random() * terrain.cols);
    const r = Math.floor(random() * terrain.rows);
    if (Math.hypot(c - col, r - row) * terrain.cellM > maxRangeM) continue;
    count++;
    const visible = oracleVisible(terrain, eye, DEFAULT_EFFECTIVE_RADIUS_KM, c, r);
    if ((out[r * terrain.cols + c] === VISIBLE) === visible) same++;
  }
  return same / count;
}
