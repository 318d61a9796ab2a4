/** Samples between bounds that are kept for skipping: a power of two. */
export const BLOCK_BITS = 4;
export const BLOCK = 1 << BLOCK_BITS;

/**
 * Scratch of one ray, reused by every ray of a sweep. Step 0 is the terminal; heights are metres above the swept
 * terminal's antenna, so that sums stay small.
 */
export interface RayWork {
  ground: Float64Array;
  /** Surface, lowered by the Earth's bulge (x²/2a) so that straight rays stay straight. */
  top: Float64Array;
  /** Samples 1…j that touch a void. */
  voids: Int32Array;
  /** Cells the ray owns, in order: step, cells off the axis, index. */
  ownedStep: Int32Array;
  ownedAcross: Int32Array;
  ownedCell: Int32Array;
  /** Greatest `top` of each block of samples. */
  blockTop: Float64Array;
  /** Upper hulls (step, height, slope of the edge that ends there) of `top` and `ground`. */
  hullX: Float64Array;
  hullZ: Float64Array;
  hullSlope: Float64Array;
  flatX: Float64Array;
  flatZ: Float64Array;
  flatSlope: Float64Array;
  /**
   * Samples with vegetation: step, and the slope (m per step, curved frame) from the terminal to the vegetation's top; the
   * greatest and least slope of each block of them.
   */
  canopyX: Float64Array;
  canopySlope: Float64Array;
  canopyHigh: Float64Array;
  canopyLow: Float64Array;
  /** Per owned cell what a path costs whatever stands on the ground: spherical Earth and free space, dB. A second route takes them over. */
  sphereDb: Float64Array;
  freeSpaceDb: Float64Array;
  /** Receivers up to this step see the very samples of the route before, with no vegetation: their loss is the same. */
  sameUntil: number;
  /** How many cells are owned, how many samples have vegetation. */
  ownedCount: number;
  canopyCount: number;
}

export function createRayWork(steps: number): RayWork {
  const size = steps + BLOCK + 1;
  const floats = () => new Float64Array(size);
  return {
    ground: floats(),
    top: floats(),
    voids: new Int32Array(size),
    ownedStep: new Int32Array(size),
    ownedAcross: new Int32Array(size),
    ownedCell: new Int32Array(size),
    blockTop: new Float64Array(Math.ceil(size / BLOCK) + 1),
    hullX: floats(),
    hullZ: floats(),
    hullSlope: floats(),
    flatX: floats(),
    flatZ: floats(),
    flatSlope: floats(),
    canopyX: floats(),
    canopySlope: floats(),
    canopyHigh: new Float64Array(Math.ceil(size / BLOCK) + 1),
    canopyLow: new Float64Array(Math.ceil(size / BLOCK) + 1),
    sphereDb: floats(),
    freeSpaceDb: floats(),
    sameUntil: 0,
    ownedCount: 0,
    canopyCount: 0,
  };
}
