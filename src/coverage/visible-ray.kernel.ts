import type { Sector } from "./rays.ts";

/** What a visibility sweep says of a cell. */
export const HIDDEN = 0;
export const VISIBLE = 1;
/** Not hidden by anything known, but a void lies on the way or under the cell. */
export const VISIBILITY_UNKNOWN = 2;
export const NOT_EVALUATED = 255;

/**
 * Visible or not along one ray: one running greatest slope, in the frame where heights are lowered by x²/2a.
 * @param zeroM   swept antenna, m AMSL
 * @param bulgeM  drop per step²: ds²/2a
 * Ownership of cells as in the loss sweep: −j ≤ 2(i·rays − j·k) < j.
 */
export function visibleRay(
  groundM: Float32Array,
  obstacleM: Float32Array,
  sector: Sector,
  k: number,
  last: number,
  origin: number,
  rangeCells2: number,
  mask: Uint8Array | null,
  zeroM: number,
  targetHeightM: number,
  bulgeM: number,
  visible: Uint8Array,
): void {
  const rays = sector.rays;
  const inverse = 1 / rays;
  const minor = sector.minorStride;
  const whole = Math.floor(k / rays);
  const rest = k - whole * rays;
  const limitBelow = -sector.minorBelow;
  const limitAbove = sector.minorAbove;
  const stride = sector.majorStride + whole * minor;
  const raise = targetHeightM - zeroM;
  let offset = 0;
  let over = 0;
  let cell = origin;
  let steepest = Number.NEGATIVE_INFINITY;
  let seenVoid = false;
  for (let j = 1; j <= last; j++) {
    cell += stride;
    offset += whole;
    over += rest;
    if (over >= rays) {
      over -= rays;
      offset++;
      cell += minor;
    }
    let owned = -1;
    let across = offset;
    if (2 * over <= j) owned = cell;
    else if (2 * (rays - over) < j) {
      owned = cell + minor;
      across++;
    }
    const drop = bulgeM * (j * j);
    if (owned >= 0 && across >= limitBelow && across <= limitAbove && across * across + j * j <= rangeCells2) {
      if (mask === null || mask[owned] !== 0) {
        const z = groundM[owned]! + raise - drop;
        if (z < steepest * j) visible[owned] = HIDDEN;
        else visible[owned] = seenVoid || Number.isNaN(z) ? VISIBILITY_UNKNOWN : VISIBLE;
      }
    }
    let a = cell;
    let b = cell + minor;
    if (offset < limitBelow) a = b;
    if (over === 0 || offset >= limitAbove) b = a;
    const sa = obstacleM[a]!;
    const z = sa + over * inverse * (obstacleM[b]! - sa) - zeroM - drop;
    if (z > steepest * j) steepest = z / j;
    else if (Number.isNaN(z)) seenVoid = true;
  }
}
