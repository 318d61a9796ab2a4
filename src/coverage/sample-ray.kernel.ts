import { BLOCK, BLOCK_BITS, type RayWork } from "./ray-work.ts";
import type { Sector } from "./rays.ts";
import type { SweepTerrain } from "./types.ts";

/**
 * Fills the scratch of one ray: heights interpolated linearly between the two cells it passes between, void samples held
 * at the last known height and counted, and the cells the ray owns.
 *
 * A ray owns the cell i steps off the axis at step j when −j ≤ 2(i·rays − j·k) < j: the nearest ray, ties to the upper one,
 * in whole numbers, so that every cell has exactly one owner whatever the order of work.
 *
 * @param last    steps to take
 * @param zeroM   height that becomes 0: the swept antenna, m AMSL
 * @param bulgeM  drop of the straight line against the level surface, m per step²: ds²/2a
 * @param again   a second route over the same ground: `ground` and the owned cells stand; told is how far the surface is the same
 * Owned cells may lie off the grid or out of range: the walk looks at that.
 */
export function sampleRay(
  terrain: SweepTerrain,
  sector: Sector,
  k: number,
  last: number,
  origin: number,
  canopyTop: Float32Array | null,
  zeroM: number,
  bulgeM: number,
  again: boolean,
  work: RayWork,
): void {
  const groundM = terrain.groundM;
  const obstacleM = terrain.obstacleM;
  const sameSurface = groundM === obstacleM;
  const { ground, top, voids, ownedStep, ownedAcross, ownedCell, canopyX, canopySlope, canopyHigh, canopyLow } = work;
  const rays = sector.rays;
  const inverse = 1 / rays;
  const minor = sector.minorStride;
  const whole = Math.floor(k / rays);
  const rest = k - whole * rays;
  const limitBelow = -sector.minorBelow;
  const limitAbove = sector.minorAbove;
  const stride = sector.majorStride + whole * minor;
  let offset = 0; // whole cells off the axis: floor(j·k/rays)
  let over = 0; // the rest of it, in 1/rays
  let cell = origin;
  let heldGround = groundM[origin]! - zeroM;
  let heldTop = heldGround;
  let voidCount = 0;
  let canopyCount = 0;
  let owned = 0;
  let same = last + 1;
  ground[0] = heldGround;
  top[0] = heldTop;
  voids[0] = 0;
  for (let j = 1; j <= last; j++) {
    cell += stride;
    offset += whole;
    over += rest;
    if (over >= rays) {
      over -= rays;
      offset++;
      cell += minor;
    }
    // Beside the grid (less than half a cell) the edge's own cells serve.
    let a = cell;
    let b = cell + minor;
    if (offset < limitBelow) a = b;
    if (over === 0 || offset >= limitAbove) b = a;
    const f = over * inverse;
    const ga = groundM[a]!;
    const g = ga + f * (groundM[b]! - ga) - zeroM;
    let s = g;
    if (!sameSurface) {
      const sa = obstacleM[a]!;
      s = sa + f * (obstacleM[b]! - sa) - zeroM;
    }
    if (!Number.isNaN(g - s)) {
      heldGround = g;
      heldTop = s;
    } else {
      voidCount++;
      if (!Number.isNaN(g)) heldGround = g;
      if (!Number.isNaN(s)) heldTop = s;
    }
    const lowered = heldTop - bulgeM * (j * j);
    if (again) {
      if (same > last && (lowered !== top[j]! || voidCount !== voids[j]!)) same = j;
    } else {
      ground[j] = heldGround;
      // Written every time, counted when owned: whether a ray owns a cell is a coin's toss that no processor foresees.
      const upper = (rays - 2 * over) >>> 31; // 1 when the next cell is the nearer one
      const apart = 2 * (over + upper * (rays - 2 * over));
      ownedStep[owned] = j;
      ownedAcross[owned] = offset + upper;
      ownedCell[owned] = cell + upper * minor;
      owned += (apart - j - 1 + upper) >>> 31;
    }
    top[j] = lowered;
    voids[j] = voidCount;

    if (canopyTop !== null) {
      const high = canopyTop[2 * over <= rays ? a : b]!;
      if (high > Number.NEGATIVE_INFINITY) {
        if (same > last) same = j;
        const slope = (high - zeroM - bulgeM * (j * j)) / j;
        const block = canopyCount >> BLOCK_BITS;
        const first = (canopyCount & (BLOCK - 1)) === 0;
        if (first || slope > canopyHigh[block]!) canopyHigh[block] = slope;
        if (first || slope < canopyLow[block]!) canopyLow[block] = slope;
        canopyX[canopyCount] = j;
        canopySlope[canopyCount] = slope;
        canopyCount++;
      }
    }
  }
  if (!again) work.ownedCount = owned;
  work.sameUntil = again ? same : 0;
  work.canopyCount = canopyCount;
}
