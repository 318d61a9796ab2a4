/**
 * Delta-Bullington written down once more, straight from Rec. ITU-R P.526-15 §3, §4.1, §4.5 and P.525-4, slowly and in
 * double precision, sharing nothing with the code under test. Equation numbers are those of P.1812-6.
 */
export interface ReferenceLink {
  frequencyMHz: number;
  effectiveRadiusKm: number;
  polarization: "horizontal" | "vertical";
}

export interface ReferenceLoss {
  Lbulla: number;
  Lbulls: number;
  Ldsph: number;
  Ld: number;
  hte: number;
  hre: number;
  lossDb: number;
  lineOfSight: boolean;
  /** At the far end: direct ray if clear, else its horizon toward the near end, degrees. */
  elevationDeg: number;
}

export function referenceEdge(nu: number): number {
  return nu > -0.78 ? 6.9 + 20 * Math.log10(Math.sqrt((nu - 0.1) ** 2 + 1) + nu - 0.1) : 0;
}

function bullington(d: number[], g: number[], hts: number, hrs: number, ap: number, lambda: number) {
  const n = d.length - 1;
  const D = d[n]!;
  const Ce = 1 / ap;
  let Stim = -Infinity;
  for (let i = 1; i < n; i++) Stim = Math.max(Stim, (g[i]! + 500 * Ce * d[i]! * (D - d[i]!) - hts) / d[i]!);
  const Str = (hrs - hts) / D;
  let nu = -Infinity;
  const clear = Stim < Str;
  if (clear) {
    for (let i = 1; i < n; i++) {
      const di = d[i]!;
      const h = g[i]! + 500 * Ce * di * (D - di) - (hts * (D - di) + hrs * di) / D;
      nu = Math.max(nu, h * Math.sqrt((0.002 * D) / (lambda * di * (D - di))));
    }
  } else {
    let Srim = -Infinity;
    for (let i = 1; i < n; i++) Srim = Math.max(Srim, (g[i]! + 500 * Ce * d[i]! * (D - d[i]!) - hrs) / (D - d[i]!));
    const db = (hrs - hts + Srim * D) / (Stim + Srim);
    nu = (hts + Stim * db - (hts * (D - db) + hrs * db) / D) * Math.sqrt((0.002 * D) / (lambda * db * (D - db)));
  }
  const Luc = nu === -Infinity ? 0 : referenceEdge(nu);
  return { loss: Luc + (1 - Math.exp(-Luc / 6)) * (10 + 0.02 * D), clear };
}

function firstTerm(d: number, h1: number, h2: number, a: number, f: number, vertical: boolean): number {
  const eps = 22;
  const sigma = 0.003;
  const x = (18 * sigma) / f;
  const KH = 0.036 * (a * f) ** (-1 / 3) * ((eps - 1) ** 2 + x ** 2) ** (-1 / 4);
  const K = vertical ? KH * Math.sqrt(eps ** 2 + x ** 2) : KH;
  const beta = (1 + 1.6 * K ** 2 + 0.67 * K ** 4) / (1 + 4.5 * K ** 2 + 1.53 * K ** 4);
  const X = 21.88 * beta * (f / a ** 2) ** (1 / 3) * d;
  const FX = X >= 1.6 ? 11 + 10 * Math.log10(X) - 17.6 * X : -20 * Math.log10(X) - 5.6488 * X ** 1.425;
  const G = (h: number) => {
    const B = beta * 0.9575 * beta * (f ** 2 / a) ** (1 / 3) * h;
    const g = B > 2 ? 17.6 * Math.sqrt(B - 1.1) - 5 * Math.log10(B - 1.1) - 8 : 20 * Math.log10(B + 0.1 * B ** 3);
    return Math.max(g, 2 + 20 * Math.log10(K));
  };
  return -FX - G(h1) - G(h2);
}

function sphere(d: number, h1: number, h2: number, ap: number, f: number, lambda: number, vertical: boolean): number {
  const dlos = Math.sqrt(2 * ap) * (Math.sqrt(0.001 * h1) + Math.sqrt(0.001 * h2));
  if (d >= dlos) return firstTerm(d, h1, h2, ap, f, vertical);
  const c = (h1 - h2) / (h1 + h2);
  const m = (250 * d * d) / (ap * (h1 + h2));
  const b =
    2 *
    Math.sqrt((m + 1) / (3 * m)) *
    Math.cos(Math.PI / 3 + Math.acos(Math.max(-1, Math.min(1, ((3 * c) / 2) * Math.sqrt((3 * m) / (m + 1) ** 3)))) / 3);
  const d1 = (d / 2) * (1 + b);
  const d2 = d - d1;
  const hse = ((h1 - (500 * d1 * d1) / ap) * d2 + (h2 - (500 * d2 * d2) / ap) * d1) / d;
  const hreq = 17.456 * Math.sqrt((d1 * d2 * lambda) / d);
  if (hse > hreq) return 0;
  const aem = 500 * (d / (Math.sqrt(h1) + Math.sqrt(h2))) ** 2;
  const Ldft = firstTerm(d, h1, h2, aem, f, vertical);
  return Ldft < 0 ? 0 : (1 - hse / hreq) * Ldft;
}

/**
 * @param d km from the near end; @param h bare ground and @param g obstacles, m AMSL; the first and last g are not looked at
 * @param slantKm distance for free space; the profile's ends when left out
 */
export function referenceLoss(
  d: number[],
  h: number[],
  g: number[],
  hts: number,
  hrs: number,
  link: ReferenceLink,
  slantKm?: number,
): ReferenceLoss {
  const n = d.length - 1;
  const D = d[n]!;
  const f = link.frequencyMHz / 1000;
  const lambda = 0.3 / f;
  const ap = link.effectiveRadiusKm;
  const actual = bullington(d, g, hts, hrs, ap, lambda);
  let v1 = 0;
  let v2 = 0;
  for (let i = 1; i <= n; i++) {
    v1 += (d[i]! - d[i - 1]!) * (h[i]! + h[i - 1]!);
    v2 += (d[i]! - d[i - 1]!) * (h[i]! * (2 * d[i]! + d[i - 1]!) + h[i - 1]! * (d[i]! + 2 * d[i - 1]!));
  }
  let hst = (2 * v1 * D - v2) / D ** 2;
  let hsr = (v2 - v1 * D) / D ** 2;
  let hobs = -Infinity;
  let alphaT = -Infinity;
  let alphaR = -Infinity;
  for (let i = 1; i < n; i++) {
    const H = h[i]! - (hts * (D - d[i]!) + hrs * d[i]!) / D;
    hobs = Math.max(hobs, H);
    alphaT = Math.max(alphaT, H / d[i]!);
    alphaR = Math.max(alphaR, H / (D - d[i]!));
  }
  if (hobs > 0) {
    hst -= (hobs * alphaT) / (alphaT + alphaR);
    hsr -= (hobs * alphaR) / (alphaT + alphaR);
  }
  const hte = hts - Math.min(hst, h[0]!);
  const hre = hrs - Math.min(hsr, h[n]!);
  const smooth = bullington(
    d,
    d.map(() => 0),
    hte,
    hre,
    ap,
    lambda,
  );
  const Ldsph = sphere(D, hte, hre, ap, f, lambda, link.polarization === "vertical");
  const Ld = actual.loss + Math.max(Ldsph - smooth.loss, 0);
  const slant = slantKm ?? Math.sqrt(D * D + ((hts - hrs) / 1000) ** 2);
  let angle = (hts - hrs) / (1000 * D) - D / (2 * ap);
  if (!actual.clear)
    for (let i = 1; i < n; i++) angle = Math.max(angle, (g[i]! - hrs) / (1000 * (D - d[i]!)) - (D - d[i]!) / (2 * ap));
  return {
    Lbulla: actual.loss,
    Lbulls: smooth.loss,
    Ldsph,
    Ld,
    hte,
    hre,
    lossDb: 32.4 + 20 * Math.log10(link.frequencyMHz) + 20 * Math.log10(slant) + Ld,
    lineOfSight: actual.clear,
    elevationDeg: (Math.atan(angle) * 180) / Math.PI,
  };
}
