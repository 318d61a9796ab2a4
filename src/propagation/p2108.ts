import { knifeEdgeLossDb } from "./knife-edge.ts";
import { normalQuantile } from "./normal.ts";

/**
 * Kinds of clutter of §3.1: 1 water/sea, 2 open/rural, 3 suburban, 4 urban/trees/forest, 5 dense urban.
 * 6 is dense urban where a list counts trees and forest apart as 5: give the clutter height then. From 3 on the formula is one.
 */
export type ClutterType = 1 | 2 | 3 | 4 | 5 | 6;
/** Default clutter height of each kind, m (§3.1 table 3). */
export const CLUTTER_HEIGHT_M: Readonly<Record<ClutterType, number>> = { 1: 10, 2: 10, 3: 10, 4: 15, 5: 20, 6: 20 };

/**
 * Height-gain correction of a terminal below its clutter.
 * @param frequencyMHz   30…3000 MHz
 * @param heightM        antenna above ground, m
 * @param clutterHeightM representative clutter height, m
 * @param streetWidthM   m; 27 where unknown
 * @returns loss to add at that end, dB, >= 0; 0 at and above the clutter
 * Not to be combined with clutter in a P.1812 profile at the same end.
 * Source: Rec. ITU-R P.2108-1 §3.1, eq. (1)–(2g).
 */
export function heightGainLossDb(
  frequencyMHz: number,
  heightM: number,
  clutterHeightM: number,
  type: ClutterType,
  streetWidthM = 27,
): number {
  const f = frequencyMHz / 1000;
  if (heightM >= clutterHeightM) return 0;
  if (type <= 2) return -(21.8 + 6.2 * Math.log10(f)) * Math.log10(heightM / clutterHeightM);
  const drop = clutterHeightM - heightM;
  const theta = (Math.atan(drop / streetWidthM) * 180) / Math.PI;
  // The knife edge at ν = 0 costs 6.03 dB, which is taken off: never below nothing.
  return Math.max(knifeEdgeLossDb(0.342 * Math.sqrt(f) * Math.sqrt(drop * theta)) - 6.03, 0);
}

/**
 * Statistical clutter loss of a terminal in urban or suburban surroundings, terrestrial path.
 * @param frequencyMHz 500…67 000 MHz
 * @param distanceKm   path length, km, >= 0.25 (>= 1 for both ends)
 * @param locationPct  loss is not exceeded for this share of locations, 0 < p < 100
 * @returns dB for one end; larger for more locations
 * Source: Rec. ITU-R P.2108-1 §3.2, eq. (3)–(6); at most the value at 2 km.
 */
export function terrestrialClutterLossDb(frequencyMHz: number, distanceKm: number, locationPct: number): number {
  const q = -normalQuantile(locationPct / 100);
  return Math.min(terrestrialAt(frequencyMHz, distanceKm, q), terrestrialAt(frequencyMHz, 2, q));
}

function terrestrialAt(frequencyMHz: number, distanceKm: number, deviate: number): number {
  const logF = Math.log10(frequencyMHz / 1000);
  const Ll = -2 * Math.log10(10 ** (-5 * logF - 12.5) + 10 ** -16.5);
  const Ls = 32.98 + 23.9 * Math.log10(distanceKm) + 3 * logF;
  const a = 10 ** (-0.2 * Ll);
  const b = 10 ** (-0.2 * Ls);
  const sigma = Math.sqrt((16 * a + 36 * b) / (a + b));
  return -5 * Math.log10(a + b) - sigma * deviate;
}

/**
 * Statistical clutter loss towards the sky.
 * @param frequencyMHz 10 000…100 000 MHz
 * @param elevationDeg 0…90 degrees
 * @param locationPct  0 < p < 100
 * @returns dB; slightly negative for few locations
 * Source: Rec. ITU-R P.2108-1 §3.3, eq. (7).
 */
export function skyClutterLossDb(frequencyMHz: number, elevationDeg: number, locationPct: number): number {
  const K1 = 93 * (frequencyMHz / 1000) ** 0.175;
  const angle = 0.05 * (1 - elevationDeg / 90) + (Math.PI * elevationDeg) / 180;
  const base = (-K1 * Math.log(1 - locationPct / 100)) / Math.tan(angle);
  const power = (0.5 * (90 - elevationDeg)) / 90;
  const grown = power === 0 ? 1 : Math.max(base, 0) ** power;
  return grown - 1 + 0.6 * normalQuantile(locationPct / 100);
}
