/** Side-lobe factor of typical antennas, 400 MHz to 3 GHz, and of improved ones and all above 3 GHz. */
export const K_TYPICAL = 0.7;
export const K_IMPROVED = 0;

/** Half-power width in elevation of an omnidirectional antenna of a given gain, degrees. F.1336-5 recommends 2.1, eq. (1b). */
export const omniBeamwidthDeg = (gainDbi: number): number => 107.6 * 10 ** (-0.1 * gainDbi);

/**
 * Angle from the main beam of an electrically tilted omnidirectional antenna.
 * @param elevationDeg  from the horizon, up positive, −90 to 90
 * @param tiltDeg       downtilt, down positive, below 90
 * @returns degrees, −90 to 90, 0 in the beam. Source: Rec. ITU-R F.1336-5 recommends 2.5
 */
export function electricalTiltDeg(elevationDeg: number, tiltDeg: number): number {
  const off = elevationDeg + tiltDeg;
  return off >= 0 ? (90 * off) / (90 + tiltDeg) : (90 * off) / (90 - tiltDeg);
}

/**
 * Peak side-lobe pattern of an omnidirectional antenna, relative to its peak.
 * @param offBeamDeg     elevation angle from the beam, degrees, −90 to 90
 * @param beamwidthDeg   half-power width in elevation, degrees
 * @param k              side-lobe factor, 0 to 1
 * @returns dB, ≤ 0, even in the angle, continuous. NaN in, NaN out
 * Accuracy: the published formula; tabulated values of it to 1e-6 dB. The Recommendation holds for 400 MHz to 70 GHz.
 * Source: Rec. ITU-R F.1336-5 recommends 2.1, eq. (1a), as a public implementation carries it (the text was not opened).
 */
export function omniGainDb(offBeamDeg: number, beamwidthDeg: number, k: number): number {
  const theta = Math.abs(offBeamDeg);
  const shoulder = 10 * Math.log10(k + 1);
  const edgeDeg = beamwidthDeg * Math.sqrt(1 - shoulder / 12);
  const x = theta / beamwidthDeg;
  if (theta < edgeDeg) return -12 * x * x;
  if (theta < beamwidthDeg) return -12 + shoulder;
  return -12 + 10 * Math.log10(x ** -1.5 + k);
}
