/** Irregular terrain model over one profile or one area, without allocation. Source as in itm-profile.kernel.ts. */
import { analyseProfile, analyseSiting, I, meanHeight } from "./itm-profile.kernel.ts";
import { referenceAttenuation } from "./itm-reference.kernel.ts";
import { variability } from "./itm-variability.ts";

/** Everything but the terrain; the kernel only reads it. */
export interface ItmLink {
  fMHz: number;
  /** Structural antenna heights above ground, m. */
  h1: number;
  h2: number;
  /** 1 vertical, 0 horizontal. */
  vertical: number;
  permittivity: number;
  conductivitySPerM: number;
  /** Refractivity reduced to sea level, N-units. */
  n0: number;
  /** Climate 1…7. */
  climate: number;
  /** Mode of variability: 0–3, 10–13, 20–23, 30–33. */
  mdvar: number;
  /** Complementary normal deviates of time, location and situation. */
  zTime: number;
  zLocation: number;
  zSituation: number;
}

function checkRanges(link: ItmLink, out: Float64Array): void {
  out.fill(0);
  const { h1, h2, fMHz } = link;
  let bits = 0;
  if (!(h1 >= 1 && h1 <= 1000)) bits |= 0x01;
  if (!(h2 >= 1 && h2 <= 1000)) bits |= 0x02;
  if (!(fMHz >= 40 && fMHz <= 10_000)) bits |= 0x04;
  out[I.bits] = bits;
  let error = 0;
  if (!(h1 >= 0.5 && h1 <= 3000)) error = 1000;
  else if (!(h2 >= 0.5 && h2 <= 3000)) error = 1001;
  else if (!(link.n0 >= 250 && link.n0 <= 400)) error = 1008;
  else if (!(fMHz >= 20 && fMHz <= 20_000)) error = 1009;
  out[I.error] = error;
}

function setGround(link: ItmLink, hs: number, out: Float64Array): void {
  const Ns = link.n0 * Math.exp(-hs / 9460);
  out[I.hs] = hs;
  out[I.Ns] = Ns;
  out[I.a] = 1 / (157e-9 * (1 - 0.04665 * Math.exp(Ns / 179.3)));
  // √(ε − 1), over ε for vertical polarization
  const er = link.permittivity;
  const ei = (18_000 * link.conductivitySPerM) / link.fMHz;
  const size = Math.sqrt((er - 1) * (er - 1) + ei * ei);
  const rr = Math.sqrt((size + er - 1) / 2);
  const ri = Math.sqrt((size - er + 1) / 2);
  if (link.vertical === 1) {
    const q = er * er + ei * ei;
    out[I.ReZ] = (rr * er + ri * ei) / q;
    out[I.ImZ] = (ri * er - rr * ei) / q;
  } else {
    out[I.ReZ] = rr;
    out[I.ImZ] = ri;
  }
}

function finish(link: ItmLink, c0: number, unknown: number, out: Float64Array): void {
  referenceAttenuation(link.fMHz, link.h1, link.h2, c0, out);
  if (out[I.error] !== 0) {
    out[I.A] = Number.NaN;
    return;
  }
  const r = variability(link.fMHz, link.climate, link.mdvar, link.zTime, link.zLocation, link.zSituation, out);
  const Afs = 32.45 + 20 * Math.log10(link.fMHz) + 20 * Math.log10(out[I.d]! / 1000);
  out[I.Afs] = Afs;
  out[I.A] = Afs + r + unknown;
}

/**
 * Point-to-point loss.
 * @param z    ground heights, m AMSL, n + 1 values; terrain only, nothing that stands on it
 * @param n    count of intervals, >= 1
 * @param stepM length of an interval, m
 * @param out  ITM_SLOTS values by ITM_PARTS; A is NaN where `error` is not 0 or the profile has a void
 */
export function itmPointToPointInto(z: Float64Array, n: number, stepM: number, link: ItmLink, out: Float64Array): void {
  checkRanges(link, out);
  if (out[I.error] !== 0) {
    out[I.A] = Number.NaN;
    return;
  }
  setGround(link, meanHeight(z, n), out);
  const unknown = analyseProfile(z, n, stepM, link.h1, link.h2, out);
  finish(link, 10, unknown, out);
}

/**
 * Area loss, from terrain irregularity and siting instead of a profile.
 * @param distanceM path length, m, > 0
 * @param dhM       terrain irregularity, m, >= 0
 * @param siting1, siting2 0 random, 1 careful, 2 very careful
 */
export function itmAreaInto(
  distanceM: number,
  dhM: number,
  siting1: number,
  siting2: number,
  link: ItmLink,
  out: Float64Array,
): void {
  checkRanges(link, out);
  if (out[I.error] !== 0) {
    out[I.A] = Number.NaN;
    return;
  }
  setGround(link, 0, out);
  out[I.d] = distanceM;
  out[I.dh] = dhM;
  analyseSiting(link.h1, link.h2, siting1, siting2, out);
  finish(link, 0, 0, out);
}
