/** Front-to-back limit of the whole pattern and side-lobe limit in elevation, dB. */
const FRONT_TO_BACK_DB = 25;
const SIDE_LOBE_DB = 20;

/**
 * Elevation half-power width of a sector from gain and azimuth width, degrees.
 * Source: Rec. ITU-R F.1336-5 recommends 3 (31 000 / (φ₃ · 10^(0.1 G₀))), from memory.
 */
export const sectorElevationWidthDeg = (gainDbi: number, azimuthWidthDeg: number): number =>
  Math.min(180, 31_000 / (azimuthWidthDeg * 10 ** (0.1 * gainDbi)));

/**
 * Sector pattern relative to its peak: parabolas in dB with limits.
 * @param offAzimuthDeg    azimuth from the beam, −180 to 180
 * @param offElevationDeg  elevation from the beam (elevation + downtilt), degrees
 * @param azimuthWidthDeg, elevationWidthDeg  half-power widths, degrees
 * @returns dB, −25 to 0. NaN in, NaN out
 * Source: 3GPP TR 36.814 Table A.2.1.1-2, A_m = 25 dB, SLA_v = 20 dB (limits from memory).
 */
export function sectorGainDb(
  offAzimuthDeg: number,
  offElevationDeg: number,
  azimuthWidthDeg: number,
  elevationWidthDeg: number,
): number {
  const a = offAzimuthDeg / azimuthWidthDeg;
  const e = offElevationDeg / elevationWidthDeg;
  const azimuthDb = Math.min(12 * a * a, FRONT_TO_BACK_DB);
  const elevationDb = Math.min(12 * e * e, SIDE_LOBE_DB);
  return -Math.min(azimuthDb + elevationDb, FRONT_TO_BACK_DB);
}
