/**
 * Free-space basic transmission loss between isotropic antennas.
 * @param distanceKm   straight distance between the antennas, km, > 0
 * @param frequencyMHz frequency, MHz, > 0
 * @returns loss, dB. Negative nearer than about λ/13, where the far field has not formed: callers warn there.
 *          NaN for NaN; −Infinity at 0 km; never throws.
 * Source: Rec. ITU-R P.525-4 §2.3, with its constant 32.4 (other texts print 32.44 or 32.45).
 */
export function freeSpaceLossDb(distanceKm: number, frequencyMHz: number): number {
  return 32.4 + 20 * Math.log10(frequencyMHz) + 20 * Math.log10(distanceKm);
}

/**
 * Straight distance between two antennas.
 * @param distanceKm distance along the ground, km
 * @param fromAmslM, toAmslM antenna heights above sea level, m
 * @returns slant distance, km
 * Source: Rec. ITU-R P.1812-6 eq. (8), the root of its bracket.
 */
export function slantKm(distanceKm: number, fromAmslM: number, toAmslM: number): number {
  const dh = (fromAmslM - toAmslM) / 1000;
  return Math.sqrt(distanceKm * distanceKm + dh * dh);
}
