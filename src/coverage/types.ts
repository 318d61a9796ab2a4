import type { Polarization } from "../propagation/types.ts";

/**
 * What a sweep needs to know of the ground: one square-celled grid, row 0 northernmost, heights at cell centres, m AMSL.
 * Void is NaN. Arrays of cols·rows values, row-major; they may sit in SharedArrayBuffers.
 */
export interface SweepTerrain {
  cols: number;
  rows: number;
  cellM: number;
  /** Bare earth: ends of the path, smooth-Earth fit. */
  groundM: Float32Array;
  /** Surface: obstacles of the actual-profile term and of the receiving end's horizon. May be the same array as groundM. */
  obstacleM: Float32Array;
  /** Top of the canopy (ground + vegetation height) where there is vegetation; −Infinity or NaN elsewhere. */
  canopyTopM?: Float32Array | null;
}

/** Loss per metre and its ceiling for a path inside vegetation (Rec. ITU-R P.833 §2.1). */
export interface VegetationLoss {
  specificDbPerM: number;
  maximumDb: number;
}

/** One terminal and the ground to be evaluated around it. */
export interface SweepJob {
  /** Whole-number cell of the terminal that is swept from. */
  col: number;
  row: number;
  antennaAmslM: number;
  /** Antenna above ground at every receiving cell. */
  receiverHeightM: number;
  frequencyMHz: number;
  /** Effective Earth radius, km; 4/3 of 6371 when left out. */
  effectiveRadiusKm?: number;
  polarization: Polarization;
  /** Cells whose centre is further away are not evaluated. */
  maxRangeM: number;
  /** Only cells with a value other than 0 are evaluated; null: all. */
  mask: Uint8Array | null;
  /** "absent": vegetation stands in canopyTopM, its length on the direct ray is counted. "solid": it is part of obstacleM. */
  canopy: "solid" | "absent";
  /** With canopy "absent": loss added for the length inside vegetation. */
  vegetation?: VegetationLoss;
  /** Rays per cell at the rim of a sector; DEFAULT_RAY_DENSITY when left out. */
  rayDensity?: number;
}

/** Where a sweep writes; arrays of cols·rows values. Arrays that are null are not computed. */
export interface SweepOut {
  /** Basic transmission loss, dB: free space plus diffraction (plus vegetation). NaN where not evaluated or unknown. */
  lossDb: Float32Array;
  /** At the receiving cell's antenna, degrees above horizontal: the direct ray if clear, else its horizon toward the terminal. */
  elevationDeg: Float32Array | null;
  /** Per cent (rounded up) of the samples between the ends that touch a void; 0: all known. */
  unknownShare: Uint8Array | null;
  /** 1: the direct ray clears every obstacle; 0: it does not. Means something only where lossDb is a number. */
  lineOfSight: Uint8Array | null;
  /** Length of the direct ray at or below the top of vegetation, m. */
  vegetationM: Float32Array | null;
}

/** Hooks of a driver. Rays rayFrom ≤ ray < rayTo only: then the caller has filled `out` beforehand. */
export interface SweepHooks {
  shouldStop?: () => boolean;
  /** Share of the rays that are done, 0…1, rising. */
  onProgress?: (share: number) => void;
  rayFrom?: number;
  rayTo?: number;
}

/** Effective Earth radius for a median atmosphere, km (4/3 of 6371). */
export const DEFAULT_EFFECTIVE_RADIUS_KM = (4 / 3) * 6371;

/** Rays per cell at the rim of a sector. */
export const DEFAULT_RAY_DENSITY = 2;
