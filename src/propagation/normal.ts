/**
 * Quantiles of the normal distribution. Two of the Recommendations fix an approximation of their own and are compared to
 * eight digits with it, so each has its function here.
 */

/**
 * I(x): inverse complementary cumulative normal as Rec. ITU-R P.1812 and P.452 prescribe it.
 * @param x fraction, held to 1e-6…0.999999
 * @returns deviate; about 1e-9, not exactly 0, at x = 0.5
 * Source: Rec. ITU-R P.1812-6 Attachment 2 (P.452-17 Attachment 3).
 */
export function inverseComplementaryP1812(x: number): number {
  const q = Math.min(Math.max(x, 1e-6), 0.999999);
  return q <= 0.5 ? tail(q) : -tail(1 - q);
}

function tail(q: number): number {
  const T = Math.sqrt(-2 * Math.log(q));
  return T - ((0.010328 * T + 0.802853) * T + 2.515516698) / (((0.001308 * T + 0.189269) * T + 1.432788) * T + 1);
}

/**
 * Complementary normal deviate as the irregular terrain model uses it.
 * @param q fraction, 0 < q < 1
 * Source: Abramowitz & Stegun (1964) 26.2.23, |error| < 4.5e-4.
 */
export function inverseComplementaryItm(q: number): number {
  const u = q > 0.5 ? 1 - q : q;
  const T = Math.sqrt(-2 * Math.log(u));
  const z = T - ((0.010328 * T + 0.802853) * T + 2.515516) / (((0.001308 * T + 0.189269) * T + 1.432788) * T + 1);
  return q > 0.5 ? -z : z;
}

const SQRT_2PI = Math.sqrt(2 * Math.PI);

/** Upper tail of the normal distribution, Q(x), for x >= 0. */
function upperTail(x: number): number {
  const density = Math.exp((-x * x) / 2) / SQRT_2PI;
  if (x < 3) {
    // Φ(x) − ½ = φ(x)·(x + x³/3 + x⁵/15 + …), Abramowitz & Stegun 26.2.11
    let term = x;
    let sum = x;
    for (let k = 1; term > 1e-17 * sum; k++) {
      term *= (x * x) / (2 * k + 1);
      sum += term;
    }
    return 0.5 - density * sum;
  }
  // Continued fraction, Abramowitz & Stegun 26.2.14, from the inside out
  let fraction = x;
  for (let k = 60; k >= 1; k--) fraction = x + k / fraction;
  return density / fraction;
}

/** Normal distribution function Φ(x), to 1e-15 absolute and about 1e-13 relative in the tails. */
export function normalCdf(x: number): number {
  return x > 0 ? 1 - upperTail(x) : upperTail(-x);
}

/**
 * Quantile of the normal distribution, Φ⁻¹.
 * @param p probability, 0 < p < 1
 * @returns deviate, to 1e-12
 * Abramowitz & Stegun 26.2.23 as the start, then Halley steps on Φ.
 */
export function normalQuantile(p: number): number {
  if (p === 0.5) return 0;
  const q = Math.min(p, 1 - p);
  let x = inverseComplementaryItm(q);
  for (let k = 0; k < 3; k++) {
    const error = (q - upperTail(x)) * SQRT_2PI * Math.exp((x * x) / 2);
    x -= error / (1 + (x * error) / 2);
  }
  return p < 0.5 ? -x : x;
}
