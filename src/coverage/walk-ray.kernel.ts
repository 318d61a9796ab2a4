import type { LinkConstants } from "./link-constants.ts";
import { BLOCK, BLOCK_BITS, type RayWork } from "./ray-work.ts";
import type { Sector } from "./rays.ts";
import { bullingtonDb, edgeLossDb, sphereExcessDb } from "./sphere.kernel.ts";
import type { SweepOut, VegetationLoss } from "./types.ts";

const DB10 = 10 / Math.LN10;
const DEGREES = 180 / Math.PI;
/** (17.456/√1000)², the clearance of P.526 eq. (25) squared, per λ d1 d2/d in metres. */
const NEEDED2 = (17.456 * 17.456) / 1000;
/** ν at or below which an edge costs nothing. */
const NU2_CLEAR = 0.78 * 0.78;

/**
 * Evaluates every receiver of one sampled ray: free space plus delta-Bullington diffraction, one walk for all of them.
 *
 * With heights lowered by x²/2a straight rays stay straight, so that seen from the swept terminal the horizon is a running
 * maximum and seen from a receiver it is a tangent to the upper hull of the samples passed so far. On a clear path the
 * greatest ν is looked for among the hull's vertices (u²/(x(n−x)) is quasi-convex along the hull) and then below the one
 * edge where lower samples can still win.
 *
 * Source: Rec. ITU-R P.526-15 §4.5 (delta-Bullington), P.525-4 (free space over the slant distance).
 *
 * @param sector      the ray's sector: cells off the grid are left out
 * @param rangeCells2 square of the range in cells
 * @param mask        cells to evaluate, null for all
 * @param stepM       length of a step, m
 * @param cellM       side of a cell, m
 * @param zeroM       height of the swept antenna, m AMSL: 0 in `work`
 * @param lesser      true: a second route to the same cells; it is written only where it loses less than what stands there,
 *                    `route` then says 1. Line of sight stays that of the first route, whose terms over bare ground it takes.
 */
export function walkRay(
  work: RayWork,
  sector: Sector,
  rangeCells2: number,
  mask: Uint8Array | null,
  stepM: number,
  cellM: number,
  zeroM: number,
  receiverHeightM: number,
  groundM: Float32Array,
  link: LinkConstants,
  vegetation: VegetationLoss | null,
  lesser: boolean,
  route: Uint8Array | null,
  out: SweepOut,
): void {
  const { ground, top, voids, blockTop, ownedStep, ownedAcross, ownedCell, ownedCount, canopyCount } = work;
  const { hullX, hullZ, hullSlope, flatX, flatZ, flatSlope, canopyX, canopySlope, canopyHigh, canopyLow } = work;
  const { sphereDb, freeSpaceDb: spreadDb, sameUntil } = work;
  const { lossDb, elevationDeg, unknownShare, lineOfSight, vegetationM } = out;
  const radiusM = link.radiusM;
  const bulge = (stepM * stepM) / (2 * radiusM);
  const kappa = 2 / (link.lambdaM * stepM);
  const stepKm = stepM * 0.001;
  const cell2 = cellM * cellM;
  const neededPerStep = Math.sqrt(NEEDED2 * link.lambdaM * stepM);
  const freeSpaceDb = link.freeSpaceDb;
  const ground0 = ground[0]!;
  const countCanopy = canopyCount > 0 && (vegetationM !== null || vegetation !== null);

  let steepest = Number.NEGATIVE_INFINITY; // greatest slope so far, curved frame, m per step
  let steepestFlat = Number.NEGATIVE_INFINITY; // the same for bare ground, flat frame
  let sum1 = 0; // Σ h_i + h_{i−1}
  let sum2 = 0; // Σ h_i(3i−1) + h_{i−1}(3i−2)
  // Newest vertex of each hull: its index; its height and edge once more, spared from memory. It is the newest sample.
  let hull = -1;
  let hullTop = 0;
  let hullEdge = 0;
  let flat = -1;
  let flatTop = 0;
  let flatEdge = 0;
  let block = Number.NEGATIVE_INFINITY;
  let next = 1;
  let before = ground0; // bare ground one sample back
  let canopySeen = 0;

  const { minorBelow, minorAbove } = sector;

  for (let receiver = 0; receiver < ownedCount; receiver++) {
    const n = ownedStep[receiver]!;
    if (lesser && n <= sameUntil) continue;
    const across = ownedAcross[receiver]!;
    const cell = ownedCell[receiver]!;
    const distance2 = across * across + n * n;
    if (across < -minorBelow || across > minorAbove || distance2 > rangeCells2) continue;
    if (mask !== null && mask[cell] === 0) continue;
    const ownGround = groundM[cell]! - zeroM;
    if (Number.isNaN(ownGround)) continue;

    // The samples before the receiver join what it looks back on.
    for (; next < n; next++) {
      const z = top[next]!;
      if (z > steepest * next) steepest = z / next;
      if (hull > 0 && z >= hullTop + hullEdge) {
        hull--;
        while (hull > 0 && z >= hullZ[hull]! + hullSlope[hull]! * (next - hullX[hull]!)) hull--;
        hullEdge = (z - hullZ[hull]!) / (next - hullX[hull]!);
      } else hullEdge = z - hullTop;
      hull++;
      hullTop = z;
      hullX[hull] = next;
      hullZ[hull] = z;
      hullSlope[hull] = hullEdge;

      if (!lesser) {
        const g = ground[next]!;
        sum1 += g + before;
        sum2 += g * (3 * next - 1) + before * (3 * next - 2);
        before = g;
        if (g > steepestFlat * next) steepestFlat = g / next;
        if (flat > 0 && g >= flatTop + flatEdge) {
          flat--;
          while (flat > 0 && g >= flatZ[flat]! + flatSlope[flat]! * (next - flatX[flat]!)) flat--;
          flatEdge = (g - flatZ[flat]!) / (next - flatX[flat]!);
        } else flatEdge = g - flatTop;
        flat++;
        flatTop = g;
        flatX[flat] = next;
        flatZ[flat] = g;
        flatSlope[flat] = flatEdge;
      }

      const inBlock = next & (BLOCK - 1);
      if (inBlock === 0 || z > block) block = z;
      if (inBlock === BLOCK - 1) blockTop[next >> BLOCK_BITS] = block;
    }
    while (canopySeen < canopyCount && canopyX[canopySeen]! < n) canopySeen++;

    const height = ownGround + receiverHeightM;
    const lowered = height - bulge * n * n;
    const tilt = lowered / n;
    const clear = !(steepest >= tilt);

    // Bullington over the actual profile: the equivalent edge's loss and, for the horizon, the slope back.
    let edgeDb = 0;
    let slopeBack = -tilt;
    if (!clear) {
      // Tangent: vertex t such that the receiver lies above the extension of every later edge, below that of edge t.
      let t = hull;
      if (t > 0 && lowered > hullZ[t]! + hullSlope[t]! * (n - hullX[t]!)) {
        let known = t; // the receiver is above this edge
        let reach = 1;
        let probe = t - 1;
        while (probe > 0 && lowered > hullZ[probe]! + hullSlope[probe]! * (n - hullX[probe]!)) {
          known = probe;
          reach <<= 1;
          probe -= reach;
        }
        let low = Math.max(probe, 0);
        let high = known - 1;
        while (low < high) {
          const mid = (low + high + 1) >> 1;
          if (lowered > hullZ[mid]! + hullSlope[mid]! * (n - hullX[mid]!)) high = mid - 1;
          else low = mid;
        }
        t = low;
      }
      slopeBack = (hullZ[t]! - lowered) / (n - hullX[t]!);
      const both = steepest + slopeBack;
      if (both > 0) {
        const at = (lowered + slopeBack * n) / both;
        edgeDb = edgeLossDb((steepest - tilt) * Math.sqrt((kappa * n * at) / (n - at)));
      } else edgeDb = edgeLossDb(0); // exactly grazing
    } else if (hull >= 0) {
      // Least q = u²/(x(n − x)); ν² = κ n q. Above the cap the edge costs nothing.
      let q = NU2_CLEAR / (kappa * n);
      let capped = true;
      let low = 0;
      let high = hull;
      while (low < high) {
        const mid = (low + high) >> 1;
        const x1 = hullX[mid]!;
        const x2 = hullX[mid + 1]!;
        const u1 = tilt * x1 - hullZ[mid]!;
        const u2 = tilt * x2 - hullZ[mid + 1]!;
        if (u1 * u1 * x2 * (n - x2) <= u2 * u2 * x1 * (n - x1)) high = mid;
        else low = mid + 1;
      }
      const xv = hullX[low]!;
      const uv = tilt * xv - hullZ[low]!;
      const wv = xv * (n - xv);
      if (uv * uv < q * wv) {
        q = (uv * uv) / wv;
        capped = false;
      }
      // Samples below the two edges beside that vertex: between the roots of L(x)² = q x(n − x), L the edge's clearance.
      const lastEdge = low < hull ? low + 1 : low;
      for (let e = low > 0 ? low : 1; e <= lastEdge; e++) {
        const xe = hullX[e]!;
        const xs = hullX[e - 1]!;
        if (xe - xs < 2) continue;
        const slope = tilt - hullSlope[e]!;
        const start = tilt * xe - hullZ[e]! - slope * xe;
        const room = q * n * n - 4 * start * (start + slope * n);
        if (!(room > 0)) continue;
        const root = Math.sqrt(q * room);
        const under = 0.5 / (slope * slope + q);
        const middle = q * n - 2 * slope * start;
        let j = Math.max(Math.ceil((middle - root) * under), xs + 1);
        const end = Math.min(Math.floor((middle + root) * under), xe - 1);
        while (j <= end) {
          const stop = Math.min(j | (BLOCK - 1), end);
          if ((j & (BLOCK - 1)) === 0 && stop - j === BLOCK - 1) {
            const u = Math.min(tilt * j, tilt * stop) - blockTop[j >> BLOCK_BITS]!;
            const widest = 2 * stop < n ? stop * (n - stop) : 2 * j > n ? j * (n - j) : 0.25 * n * n;
            if (u > 0 && u * u >= q * widest) {
              j = stop + 1;
              continue;
            }
          }
          for (; j <= stop; j++) {
            const u = tilt * j - top[j]!;
            const w = j * (n - j);
            if (u * u < q * w) {
              q = (u * u) / w;
              capped = false;
            }
          }
        }
      }
      if (!capped) edgeDb = edgeLossDb(-Math.sqrt(kappa * n * q));
    }
    let loss = edgeDb > 0 ? bullingtonDb(edgeDb, n * stepKm) : 0;

    if (!lesser) {
      // Heights above the smooth surface fitted to bare ground.
      const s1 = sum1 + ownGround + before;
      const s2 = sum2 + ownGround * (3 * n - 1) + before * (3 * n - 2);
      const perN2 = 1 / (n * n);
      let smooth1 = (2 * s1 * n - s2) * perN2;
      let smooth2 = (s2 - s1 * n) * perN2;
      const tiltFlat = height / n;
      if (steepestFlat > tiltFlat) {
        let t = flat;
        if (t > 0 && height > flatZ[t]! + flatSlope[t]! * (n - flatX[t]!)) {
          let known = t;
          let reach = 1;
          let probe = t - 1;
          while (probe > 0 && height > flatZ[probe]! + flatSlope[probe]! * (n - flatX[probe]!)) {
            known = probe;
            reach <<= 1;
            probe -= reach;
          }
          let low = Math.max(probe, 0);
          let high = known - 1;
          while (low < high) {
            const mid = (low + high + 1) >> 1;
            if (height > flatZ[mid]! + flatSlope[mid]! * (n - flatX[mid]!)) high = mid - 1;
            else low = mid;
          }
          t = low;
        }
        const alphaT = steepestFlat - tiltFlat;
        const alphaR = (flatZ[t]! - height) / (n - flatX[t]!) + tiltFlat;
        // The vertex furthest above the line ends the last edge steeper than it; it is not past the tangent's vertex.
        let low = 0;
        let high = t;
        while (low < high) {
          const mid = (low + high + 1) >> 1;
          if (flatSlope[mid]! > tiltFlat) low = mid;
          else high = mid - 1;
        }
        const above = (flatZ[low]! - tiltFlat * flatX[low]!) / (alphaT + alphaR);
        smooth1 -= above * alphaT;
        smooth2 -= above * alphaR;
      }
      let excess = 0;
      const h1 = -Math.min(smooth1, ground0);
      const h2 = height - Math.min(smooth2, ownGround);
      // Clear of the smooth Earth when 2√(h1 h2) − d²/4a exceeds the clearance needed per √(d1 d2)/d: by the inequality
      // of the arithmetic and geometric mean the true clearance is at least that times √(d1 d2)/d.
      if (!(2 * Math.sqrt(h1 * h2) - 0.5 * bulge * n * n > neededPerStep * Math.sqrt(n)))
        excess = sphereExcessDb(link, n, stepM, h1, h2);

      sphereDb[receiver] = excess;
      spreadDb[receiver] = freeSpaceDb + DB10 * Math.log(distance2 * cell2 + height * height);
    }
    loss += sphereDb[receiver]!;
    loss += spreadDb[receiver]!;

    let lengthM = 0;
    if (countCanopy) {
      let inside = 0;
      let i = 0;
      for (; i + BLOCK <= canopySeen; i += BLOCK) {
        const b = i >> BLOCK_BITS;
        if (canopyHigh[b]! < tilt) continue;
        if (canopyLow[b]! >= tilt) inside += BLOCK;
        else for (let s = i; s < i + BLOCK; s++) if (canopySlope[s]! >= tilt) inside++;
      }
      for (; i < canopySeen; i++) if (canopySlope[i]! >= tilt) inside++;
      lengthM = inside * stepM;
      if (vegetation !== null && inside > 0)
        loss += vegetation.maximumDb * (1 - Math.exp((-lengthM * vegetation.specificDbPerM) / vegetation.maximumDb));
    }
    if (unknownShare !== null && n > 1) {
      const share = Math.ceil((100 * voids[n - 1]!) / (n - 1));
      if (!lesser || share > unknownShare[cell]!) unknownShare[cell] = share;
    }
    if (!lesser || loss < lossDb[cell]!) {
      lossDb[cell] = loss;
      if (vegetationM !== null) vegetationM[cell] = lengthM;
      // Slopes of the curved frame stand on the terminal's level; the receiver's is turned by d/a.
      if (elevationDeg !== null) elevationDeg[cell] = DEGREES * Math.atan(slopeBack / stepM - (n * stepM) / radiusM);
      if (lesser) {
        if (route !== null) route[cell] = 1;
      } else if (lineOfSight !== null) lineOfSight[cell] = clear ? 1 : 0;
    }
  }
}
