import type { LayoutInstance } from "./instance.ts";

/** How far a set of spots has come: best value of every item, must items covered, tiles counted for every must. */
export interface Cover {
  /** Score points so far. */
  score: number;
  mustsMet: number;
  best: Float64Array;
  covered: Uint8Array;
  counted: Int32Array;
}

export function emptyCover(p: LayoutInstance): Cover {
  const cover: Cover = {
    score: 0,
    mustsMet: 0,
    best: new Float64Array(p.items),
    covered: new Uint8Array(p.mustCount.length),
    counted: new Int32Array(p.mustNeed.length),
  };
  for (let m = 0; m < p.mustNeed.length; m++) if (p.mustNeed[m]! <= 0) cover.mustsMet++;
  return cover;
}

export function copyCover(from: Cover, to: Cover): void {
  to.score = from.score;
  to.mustsMet = from.mustsMet;
  to.best.set(from.best);
  to.covered.set(from.covered);
  to.counted.set(from.counted);
}

/** Adds a spot to a cover. */
export function addSpot(p: LayoutInstance, cover: Cover, spot: number): void {
  for (let e = p.start[spot]!; e < p.start[spot + 1]!; e++) {
    const i = p.item[e]!;
    const more = p.value[e]! - cover.best[i]!;
    if (more > 0) {
      cover.score += p.worth[i]! * more;
      cover.best[i] = p.value[e]!;
    }
  }
  for (let e = p.mustStart[spot]!; e < p.mustStart[spot + 1]!; e++) {
    const i = p.mustItem[e]!;
    if (cover.covered[i] === 1) continue;
    cover.covered[i] = 1;
    const m = p.mustOf[i]!;
    const before = cover.counted[m]!;
    cover.counted[m] = before + p.mustCount[i]!;
    if (before < p.mustNeed[m]! && cover.counted[m]! >= p.mustNeed[m]!) cover.mustsMet++;
  }
}

/** Score points a spot would add to a cover, ≥ 0. */
export function scoreGain(p: LayoutInstance, cover: Cover, spot: number): number {
  let gain = 0;
  for (let e = p.start[spot]!; e < p.start[spot + 1]!; e++) {
    const i = p.item[e]!;
    const more = p.value[e]! - cover.best[i]!;
    if (more > 0) gain += p.worth[i]! * more;
  }
  return gain;
}

/** Tiles a spot would add to every must: written to `out` (one entry a must), musts already met get 0. */
export function mustGains(p: LayoutInstance, cover: Cover, spot: number, out: Int32Array, at: number): void {
  const musts = p.mustNeed.length;
  for (let m = 0; m < musts; m++) out[at + m] = 0;
  for (let e = p.mustStart[spot]!; e < p.mustStart[spot + 1]!; e++) {
    const i = p.mustItem[e]!;
    const m = p.mustOf[i]!;
    if (cover.covered[i] === 0 && cover.counted[m]! < p.mustNeed[m]!) out[at + m]! += p.mustCount[i]!;
  }
}
