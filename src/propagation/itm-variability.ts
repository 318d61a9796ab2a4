import { I } from "./itm-profile.kernel.ts";

/**
 * Climate curves of the irregular terrain model, climates 1…7: equatorial, continental subtropical, maritime subtropical, desert,
 * continental temperate, maritime temperate over land, maritime temperate over sea.
 * Rows: c1, c2, x1, x2, x3 (km) of the median V, of the time spread below (M) and above (P) the median,
 * then C_D, z_D, and the frequency factors of M and P.
 * Source: NTIA reference implementation of the model, version 1.4 (after NBS Technical Note 101).
 */
const CLIMATES: readonly Float64Array[] = [
  [
    -9.67, 12.7, 144.9, 190.3, 133.8, 2.13, 159.5, 762.2, 123.6, 94.5, 2.11, 102.3, 636.9, 134.8, 95.6, 1.224, 1.282, 1,
    0, 0, 1, 0, 0,
  ],
  [
    -0.62, 9.19, 228.9, 205.2, 143.6, 2.66, 7.67, 100.4, 172.5, 136.4, 6.87, 15.53, 138.7, 143.7, 98.6, 0.801, 2.161, 1,
    0, 0, 0.93, 0.31, 2.0,
  ],
  [
    1.26, 15.5, 262.6, 185.2, 99.8, 6.11, 6.65, 138.2, 242.2, 178.6, 10.08, 9.6, 165.3, 225.7, 129.7, 1.38, 1.282, 1, 0,
    0, 1, 0, 0,
  ],
  [
    -9.21, 9.05, 84.1, 101.1, 98.6, 1.98, 13.11, 139.1, 132.7, 193.5, 3.68, 159.3, 464.4, 93.1, 94.2, 1.0, 20.0, 1, 0,
    0, 0.93, 0.19, 1.79,
  ],
  [
    -0.62, 9.19, 228.9, 205.2, 143.6, 2.68, 7.16, 93.7, 186.8, 133.5, 4.75, 8.12, 93.2, 135.9, 113.4, 1.224, 1.282,
    0.92, 0.25, 1.77, 0.93, 0.31, 2.0,
  ],
  [
    -0.39, 2.86, 141.7, 315.9, 167.4, 6.86, 10.38, 187.8, 169.6, 108.9, 8.58, 13.97, 216.0, 152.0, 122.7, 1.518, 1.282,
    1, 0, 0, 1, 0, 0,
  ],
  [
    3.15, 857.9, 2222.0, 164.8, 116.3, 8.51, 169.8, 609.8, 119.9, 106.6, 8.43, 8.19, 136.2, 188.5, 122.9, 1.518, 1.282,
    1, 0, 0, 1, 0, 0,
  ],
].map((row) => Float64Array.from(row));

/** Largest deviate that raises no warning (about 0.1 % and 99.9 %). */
const Z_WARN = 3.1;

function curve(t: Float64Array, at: number, de: number): number {
  const q = (de - t[at + 3]!) / t[at + 4]!;
  const r = de / t[at + 2]!;
  return (t[at]! + t[at + 1]! / (1 + q * q)) * ((r * r) / (1 + r * r));
}

function frequencyFactor(t: Float64Array, at: number, qf: number): number {
  const q = t[at + 2]! * qf;
  return t[at]! + t[at + 1]! / (1 + q * q);
}

/**
 * Attenuation relative to free space for the wanted quantiles of time, location and situation.
 * @param zT, zL, zS complementary normal deviates of the three percentages
 * @param out  ITM_PARTS slots: reads Aref, d, dh, H1, H2; sets Vm and the deviate bit
 * @returns dB relative to free space; may be negative by a few dB
 * Source: Hufford's algorithm memo §5, quoted in the reference implementation.
 */
export function variability(
  fMHz: number,
  climate: number,
  mdvar: number,
  zTime: number,
  zLocation: number,
  zSituation: number,
  out: Float64Array,
): number {
  const t = CLIMATES[climate - 1]!;
  const k = fMHz / 47.7;
  const d = out[I.d]!;
  const Dx = Math.sqrt(18e6 * out[I.H1]!) + Math.sqrt(18e6 * out[I.H2]!) + (575.7e12 / k) ** (1 / 3);
  const de = (d < Dx ? (130e3 * d) / Dx : 130e3 + d - Dx) / 1000;
  const Vm = curve(t, 0, de);
  const qf = Math.log(0.133 * k);
  const sM = curve(t, 5, de) * frequencyFactor(t, 17, qf);
  const sP = curve(t, 10, de) * frequencyFactor(t, 20, qf);
  const tens = Math.trunc(mdvar / 10);
  const mode = mdvar % 10;
  const rough = k * out[I.dh]! * (1 - 0.8 * Math.exp(-d / 50_000));
  const sS = tens >= 2 ? 0 : 5 + 3 * Math.exp(-de / 100);
  const sL = tens === 1 || tens === 3 ? 0 : (10 * rough) / (rough + 13);
  const zS = zSituation;
  let zT = zTime;
  let zL = zLocation;
  if (mode === 0) {
    zT = zS;
    zL = zS;
  } else if (mode === 1) zL = zS;
  else if (mode === 2) zL = zT;
  if (Math.abs(zT) > Z_WARN || Math.abs(zL) > Z_WARN || Math.abs(zS) > Z_WARN) out[I.bits] = out[I.bits]! | 0x2000;
  const cD = t[15]!;
  const zD = t[16]!;
  const sT = zT < 0 ? sM : zT <= zD ? sP : cD * sP + ((1 - cD) * sP * zD) / zT;
  const B = sS * sS + (sT * zT * sT * zT) / (7.8 + zS * zS) + (sL * zL * sL * zL) / (24 + zS * zS);
  let YR = 0;
  let YS: number;
  if (mode === 0) YS = zS * Math.sqrt(sT * sT + sL * sL + B);
  else if (mode === 1) {
    YR = sT * zT;
    YS = zS * Math.sqrt(sL * sL + B);
  } else if (mode === 2) {
    YR = zT * Math.sqrt(sT * sT + sL * sL);
    YS = zS * Math.sqrt(B);
  } else {
    YR = sT * zT + sL * zL;
    YS = zS * Math.sqrt(B);
  }
  out[I.Vm] = Vm;
  const r = out[I.Aref]! - Vm - YR - YS;
  return r < 0 ? (r * (29 - r)) / (29 - 10 * r) : r;
}
