/**
 * Rec. ITU-R P.1812 basic transmission loss over one profile, without allocation.
 * Arrays as in p526.kernel.ts; a void makes the result NaN. Nothing here throws. Equation numbers are those of P.1812-6.
 */
import { inverseComplementaryP1812 } from "./normal.ts";
import {
  bullingtonFromEdge,
  bullingtonFromSlopes,
  edgeLoss,
  smoothBullingtonLoss,
  sphericalEarthLoss,
} from "./p526.kernel.ts";
import { P1812_PARTS, type P1812Link, type P1812Part } from "./p1812-parts.ts";

const S = Object.fromEntries(P1812_PARTS.map((name, i) => [name, i])) as Record<P1812Part, number>;

/** Effective Earth-radius factor exceeded for β0 % time, times 6371 km (eq. 7b). */
const A_BETA = 3 * 6371;
/** Speed of light as the Recommendation rounds it, over 10⁹. */
const C = 0.2998;

// Slopes of the obstacle profile, found in one walk: [a_e from t, a_e from r, a_β from t, a_β from r].
const slopes = new Float64Array(4);

function obstacleSlopes(
  d: Float64Array,
  g: Float64Array,
  n: number,
  hts: number,
  hrs: number,
  c: number,
  cb: number,
): number {
  const last = n - 1;
  const D = d[last]!;
  let t = Number.NEGATIVE_INFINITY;
  let r = t;
  let tb = t;
  let rb = t;
  let sum = 0;
  for (let i = 1; i < last; i++) {
    const di = d[i]!;
    const ri = D - di;
    const gi = g[i]!;
    sum += gi;
    const st = (gi - hts) / di;
    const sr = (gi - hrs) / ri;
    const a = st + c * ri;
    if (a > t) t = a;
    const b = sr + c * di;
    if (b > r) r = b;
    const ab = st + cb * ri;
    if (ab > tb) tb = ab;
    const bb = sr + cb * di;
    if (bb > rb) rb = bb;
  }
  slopes[0] = t;
  slopes[1] = r;
  slopes[2] = tb;
  slopes[3] = rb;
  return sum * 0;
}

/** Loss term of a site's shielding (eq. 48). */
function shielding(excess: number, fGHz: number, horizonKm: number): number {
  if (!(excess > 0)) return 0;
  return 20 * Math.log10(1 + 0.361 * excess * Math.sqrt(fGHz * horizonKm)) + 0.264 * excess * Math.cbrt(fGHz);
}

/** Over-sea coupling (eq. 49). */
function seaCoupling(omega: number, coastKm: number, horizonKm: number, antennaM: number): number {
  if (!(omega >= 0.75 && coastKm <= horizonKm && coastKm <= 5)) return 0;
  return -3 * Math.exp(-0.25 * coastKm * coastKm) * (1 + Math.tanh(0.07 * (50 - antennaM)));
}

/**
 * @param ground   bare ground, m AMSL
 * @param obstacle ground plus clutter, m AMSL; the same array where there is none; its ends are not looked at
 * @param n        count of points, >= 2
 * @param out      P1812_SLOTS values, filled in the order of P1812_PARTS
 */
export function p1812Into(
  d: Float64Array,
  ground: Float64Array,
  obstacle: Float64Array,
  n: number,
  link: P1812Link,
  out: Float64Array,
): void {
  const f = link.fGHz;
  const p = link.p;
  const omega = link.omega;
  const last = n - 1;
  const D = d[last]!;
  const lambda = C / f;
  const hts = ground[0]! + link.htg;
  const hrs = ground[last]! + link.hrg;
  const both = link.bothPasses || p < 50;

  // §3.6, 3.7: ducting incidence and effective Earth radius
  const phi = Math.abs(link.latitudeDeg);
  const tau = 1 - Math.exp(-4.12e-4 * link.dlm ** 2.41);
  const mu1 = Math.min(1, (10 ** (-link.dtm / (16 - 6.6 * tau)) + 10 ** (-5 * (0.496 + 0.354 * tau))) ** 0.2);
  const b0 = phi <= 70 ? 10 ** (-0.015 * phi + 1.67) * mu1 * mu1 ** (-0.935 + 0.0176 * phi) : 4.17 * mu1 * mu1 ** 0.3;
  const ae = (6371 * 157) / (157 - link.deltaN);

  // One walk over the ground: horizons, smooth surface, obstruction above the straight line
  const c = 500 / ae;
  const cb = 500 / A_BETA;
  const tilt = (hrs - hts) / D;
  let ut = Number.NEGATIVE_INFINITY;
  let ur = ut;
  let utb = ut;
  let urb = ut;
  let lt = 1;
  let lr = last - 1;
  let v1 = 0;
  let v2 = 0;
  let highest = 0;
  let alphaT = 0;
  let alphaR = 0;
  let d0 = d[0]!;
  let h0 = ground[0]!;
  for (let i = 1; i < last; i++) {
    const di = d[i]!;
    const ri = D - di;
    const hi = ground[i]!;
    const st = (hi - hts) / di;
    const sr = (hi - hrs) / ri;
    const at = st - c * di;
    if (at > ut) {
      ut = at;
      lt = i;
    }
    const ar = sr - c * ri;
    if (ar >= ur) {
      ur = ar;
      lr = i;
    }
    const atb = st - cb * di;
    if (atb > utb) utb = atb;
    const arb = sr - cb * ri;
    if (arb > urb) urb = arb;
    const step = di - d0;
    v1 += step * (hi + h0);
    v2 += step * (hi * (2 * di + d0) + h0 * (di + 2 * d0));
    const above = hi - hts - tilt * di;
    if (above > 0) {
      if (above > highest) highest = above;
      if (above > alphaT * di) alphaT = above / di;
      if (above > alphaR * ri) alphaR = above / ri;
    }
    d0 = di;
    h0 = hi;
  }
  const hn = ground[last]!;
  const lastStep = D - d0;
  v1 += lastStep * (hn + h0);
  v2 += lastStep * (hn * (2 * D + d0) + h0 * (D + 2 * d0));
  const hst = (2 * v1 * D - v2) / (D * D);
  const hsr = (v2 - v1 * D) / (D * D);
  let hstd = hst;
  let hsrd = hsr;
  if (highest > 0) {
    hstd -= (highest * alphaT) / (alphaT + alphaR);
    hsrd -= (highest * alphaR) / (alphaT + alphaR);
  }
  hstd = Math.min(hstd, ground[0]!);
  hsrd = Math.min(hsrd, hn);
  const htep = hts - hstd;
  const hrep = hrs - hsrd;
  const hstStar = Math.min(hst, ground[0]!);
  const hsrStar = Math.min(hsr, hn);
  const hte = hts - hstStar;
  const hre = hrs - hsrStar;

  // Attachment 1 §4: horizon angles (mrad) and distances
  let thetaT: number;
  let thetaR: number;
  let dlt: number;
  let dlr: number;
  let nuGround = Number.NEGATIVE_INFINITY;
  if (ut > tilt - c * D) {
    thetaT = 1000 * Math.atan(ut / 1000);
    thetaR = 1000 * Math.atan(ur / 1000);
    dlt = d[lt]!;
    dlr = D - d[lr]!;
  } else {
    thetaT = 1000 * Math.atan((tilt - c * D) / 1000);
    thetaR = 1000 * Math.atan((-tilt - c * D) / 1000);
    for (let i = 1; i < last; i++) {
      const di = d[i]!;
      const product = di * (D - di);
      const nu =
        (ground[i]! + c * product - (hts * (D - di) + hrs * di) / D) * Math.sqrt((0.002 * D) / (lambda * product));
      if (nu >= nuGround) {
        nuGround = nu;
        lt = i;
      }
    }
    lr = lt;
    // A profile of its two ends alone has no horizon point: its middle stands in.
    dlt = last > 1 ? d[lt]! : D / 2;
    dlr = D - dlt;
  }
  const theta = (1000 * D) / ae + thetaT + thetaR;
  let hm = last > 1 ? Number.NEGATIVE_INFINITY : 0;
  const m = (hsrStar - hstStar) / D;
  if (last > 1)
    for (let i = lt; i <= lr; i++) {
      const h = ground[i]! - (hstStar + m * d[i]!);
      if (h > hm) hm = h;
    }

  // §4.2: line of sight with multipath and focusing
  const dh = (hts - hrs) / 1000;
  const Lbfs = 92.4 + 20 * Math.log10(f) + 10 * Math.log10(D * D + dh * dh);
  const fade = 2.6 * (1 - Math.exp(-0.1 * (dlt + dlr)));
  const Lb0p = Lbfs + fade * Math.log10(p / 50);
  const Lb0beta = Lbfs + fade * Math.log10(b0 / 50);

  // §4.3: diffraction with the median radius, and with that of β0 % time where p asks for it
  let t50 = ut + c * D;
  let r50 = ur + c * D;
  let tBeta = utb + cb * D;
  let rBeta = urb + cb * D;
  let unknown = 0;
  if (obstacle !== ground) {
    unknown = obstacleSlopes(d, obstacle, n, hts, hrs, c, cb);
    t50 = slopes[0]!;
    r50 = slopes[1]!;
    tBeta = slopes[2]!;
    rBeta = slopes[3]!;
  }
  const bulla50 =
    (obstacle === ground && t50 < tilt && nuGround > Number.NEGATIVE_INFINITY
      ? bullingtonFromEdge(edgeLoss(nuGround), D)
      : bullingtonFromSlopes(d, obstacle, n, hts, hrs, ae, lambda, t50, r50)) + unknown;
  const bulls50 = smoothBullingtonLoss(d, n, htep, hrep, ae, lambda);
  const dsph50 = sphericalEarthLoss(D, htep, hrep, ae, f, lambda, link.vertical, omega);
  const Ld50 = bulla50 + Math.max(dsph50 - bulls50, 0);
  const Fi = p > b0 ? inverseComplementaryP1812(p / 100) / inverseComplementaryP1812(b0 / 100) : 1;
  let Ldbeta = Ld50;
  let Ldp = Ld50;
  if (both) {
    const bulla = bullingtonFromSlopes(d, obstacle, n, hts, hrs, A_BETA, lambda, tBeta, rBeta) + unknown;
    const bulls = smoothBullingtonLoss(d, n, htep, hrep, A_BETA, lambda);
    const dsph = sphericalEarthLoss(D, htep, hrep, A_BETA, f, lambda, link.vertical, omega);
    Ldbeta = bulla + Math.max(dsph - bulls, 0);
    Ldp = Ld50 + (Ldbeta - Ld50) * Fi;
    out[S.Lbulla_beta] = bulla;
    out[S.Lbulls_beta] = bulls;
    out[S.Ldsph_beta] = dsph;
  }
  const Lbd50 = Lbfs + Ld50;
  const Lbd = Lb0p + Ldp;

  // §4.4: troposcatter
  const lf = Math.log10(f / 2);
  const Lbs =
    190.1 +
    25 * Math.log10(f) -
    2.5 * lf * lf +
    20 * Math.log10(D) +
    0.573 * theta -
    0.15 * link.n0 -
    10.125 * Math.log10(50 / p) ** 0.7;

  // §4.5: ducting and layer reflection
  const Alf = f < 0.5 ? 45.375 - 137 * f + 92.5 * f * f : 0;
  const Af =
    102.45 +
    20 * Math.log10(f) +
    20 * Math.log10(dlt + dlr) +
    Alf +
    shielding(thetaT - 0.1 * dlt, f, dlt) +
    shielding(thetaR - 0.1 * dlr, f, dlr) +
    seaCoupling(omega, link.dct, dlt, hts) +
    seaCoupling(omega, link.dcr, dlr, hrs);
  const thetaDuct = (1000 * D) / ae + Math.min(thetaT, 0.1 * dlt) + Math.min(thetaR, 0.1 * dlr);
  const dI = Math.min(D - dlt - dlr, 40);
  const mu3 = hm > 10 ? Math.exp(-4.6e-5 * (hm - 10) * (43 + 6 * dI)) : 1;
  const alpha = Math.max(-0.6 - 3.5e-9 * D ** 3.1 * tau, -3.4);
  const roots = Math.max(Math.sqrt(hte) + Math.sqrt(hre), 1e-3);
  const mu2 = Math.min(1, ((500 / ae) * (D / roots) * (D / roots)) ** alpha);
  // Held above zero so that its logarithm exists on paths no duct could ever carry.
  const beta = Math.max(b0 * mu2 * mu3, 1e-100);
  const lb = Math.log10(beta);
  const Gamma = (1.076 / (2.0058 - lb) ** 1.012) * Math.exp(-(9.51 - 4.8 * lb + 0.198 * lb * lb) * 1e-6 * D ** 1.13);
  const Ap = -12 + (1.2 + 3.7e-3 * D) * Math.log10(p / beta) + 12 * (p / beta) ** Gamma;
  const Lba = Af + 5e-5 * ae * Math.cbrt(f) * thetaDuct + Ap;

  // §4.6: combination; sums of powers in the form that cannot overflow
  const Fj = 1 - 0.5 * (1 + Math.tanh((3 * 0.8 * (theta - 0.3)) / 0.3));
  const Fk = 1 - 0.5 * (1 + Math.tanh((3 * 0.5 * (D - 20)) / 20));
  const Lminb0p = p < b0 ? Lb0p + (1 - omega) * Ldp : Lbd50 + (Lb0beta + (1 - omega) * Ldp - Lbd50) * Fi;
  const top = Math.max(Lba, Lb0p);
  const Lminbap = top + 2.5 * Math.log1p(Math.exp(-Math.abs(Lba - Lb0p) / 2.5));
  const Lbda = Lminbap > Lbd ? Lbd : Lminbap + (Lbd - Lminbap) * Fk;
  const Lbam = Lbda + (Lminb0p - Lbda) * Fj;
  const least = Math.min(Lbs, Lbam);
  const Lbc = least - 5 * Math.log10(1 + 10 ** (-0.2 * Math.abs(Lbs - Lbam)));
  const Lb = Math.max(Lb0p, Lbc + link.locationDb);

  out[S.Lb] = Lb;
  out[S.Lbc] = Lbc;
  out[S.Lbfs] = Lbfs;
  out[S.Lb0p] = Lb0p;
  out[S.Lb0beta] = Lb0beta;
  out[S.Ld50] = Ld50;
  out[S.Ldbeta] = Ldbeta;
  out[S.Ldp] = Ldp;
  out[S.Lbd50] = Lbd50;
  out[S.Lbd] = Lbd;
  out[S.Lminb0p] = Lminb0p;
  out[S.Lba] = Lba;
  out[S.Lminbap] = Lminbap;
  out[S.Lbda] = Lbda;
  out[S.Lbam] = Lbam;
  out[S.Lbs] = Lbs;
  out[S.Lbulla_50] = bulla50;
  out[S.Lbulls_50] = bulls50;
  out[S.Ldsph_50] = dsph50;
  out[S.Fi] = Fi;
  out[S.Fj] = Fj;
  out[S.Fk] = Fk;
  out[S.d] = D;
  out[S.dlt] = dlt;
  out[S.dlr] = dlr;
  out[S.theta_t] = thetaT;
  out[S.theta_r] = thetaR;
  out[S.theta] = theta;
  out[S.hts] = hts;
  out[S.hrs] = hrs;
  out[S.omega] = omega;
  out[S.dtm] = link.dtm;
  out[S.dlm] = link.dlm;
  out[S.phi_path] = link.latitudeDeg;
  out[S.b0] = b0;
  out[S.ae] = ae;
  out[S.hst_uncorrected] = hst;
  out[S.hsr_uncorrected] = hsr;
  out[S.hst] = hstStar;
  out[S.hsr] = hsrStar;
  out[S.hstd] = hstd;
  out[S.hsrd] = hsrd;
  out[S.htep] = htep;
  out[S.hrep] = hrep;
  out[S.hte] = hte;
  out[S.hre] = hre;
  out[S.hm] = hm;
  out[S.Ep_1kW] = 199.36 + 20 * Math.log10(f) - Lb;
}
