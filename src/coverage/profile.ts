import { cancelled, HardstandError } from "../errors/index.ts";
import type { Polarization } from "../propagation/types.ts";
import { linkConstants } from "./link-constants.ts";
import { PATH_NUMBERS, profileLoss } from "./profile.kernel.ts";
import { createSweepOut } from "./sweep-loss.ts";
import type { SweepOut, SweepTerrain } from "./types.ts";

export { PATH_NUMBERS };

export interface ProfileLink {
  frequencyMHz: number;
  /** k·6371 km; 4/3 when left out. */
  effectiveRadiusKm?: number;
  polarization: Polarization;
}

/** One end of a path: (fractional) column and row, antenna height in m AMSL. */
export interface PathEnd {
  col: number;
  row: number;
  antennaAmslM: number;
}

export interface ProfileAnswer {
  /** Free space plus delta-Bullington diffraction, dB; NaN where an end is off the grid or on a void. */
  lossDb: number;
  /** At the far end: the direct ray if clear, else its horizon toward the near end, degrees. */
  elevationDeg: number;
  lineOfSight: boolean;
  /** Per cent (rounded up) of the samples between the ends that touch a void. */
  unknownShare: number;
}

export interface ProfileHooks {
  shouldStop?: () => boolean;
  onProgress?: (share: number) => void;
  /** Paths from ≤ i < to only. */
  from?: number;
  to?: number;
}

/**
 * Loss over many single paths on one grid, each over its exact line.
 * @param paths PATH_NUMBERS numbers per path: col, row, antennaAmslM of the near end, the same of the far end
 * @param out   one value per path; arrays that are null are not computed
 * Throws model.input when the arrays do not fit, run.cancelled when told to stop.
 * Source: Rec. ITU-R P.526-15 §4.5, P.525-4.
 */
export function profileBatch(
  terrain: SweepTerrain,
  link: ProfileLink,
  paths: Float64Array,
  out: SweepOut,
  hooks: ProfileHooks = {},
): void {
  const count = paths.length / PATH_NUMBERS;
  if (!Number.isInteger(count) || out.lossDb.length !== count)
    throw new HardstandError("model.input", "the paths of a batch do not fit its output", {
      where: "paths",
      received: [paths.length, out.lossDb.length],
      hint: `give ${PATH_NUMBERS} numbers per path and one output value per path`,
    });
  const constants = linkConstants(link);
  const top = new Float64Array(Math.max(terrain.cols, terrain.rows) + 1);
  const from = hooks.from ?? 0;
  const to = Math.min(hooks.to ?? count, count);
  for (let path = from; path < to; path++) {
    if ((path & 63) === 63) {
      if (hooks.shouldStop?.()) throw cancelled("the batch of paths");
      hooks.onProgress?.((path - from) / (to - from));
    }
    profileLoss(terrain, constants, paths, path, top, out);
  }
  hooks.onProgress?.(1);
}

/** Loss over one path; see profileBatch. */
export function lossProfile(terrain: SweepTerrain, link: ProfileLink, near: PathEnd, far: PathEnd): ProfileAnswer {
  const out = createSweepOut(1, { elevationDeg: true, unknownShare: true, lineOfSight: true });
  const paths = Float64Array.of(near.col, near.row, near.antennaAmslM, far.col, far.row, far.antennaAmslM);
  profileBatch(terrain, link, paths, out);
  return {
    lossDb: out.lossDb[0]!,
    elevationDeg: out.elevationDeg![0]!,
    lineOfSight: out.lineOfSight![0] === 1,
    unknownShare: out.unknownShare![0]!,
  };
}
