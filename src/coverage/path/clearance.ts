import { EARTH_RADIUS_KM } from "../../units/index.ts";
import type { PathProfile } from "./sample.ts";

const LIGHT_M_PER_US = 299.792458;

export interface Clearance {
  /** Direct ray clear of everything solid (canopy counted as solid); null where data are missing and nothing known blocks. */
  lineOfSight: boolean | null;
  /** Least clearance over the first Fresnel radius; negative = blocked; NaN when nothing is known. */
  fresnelRatio: number;
  /** Sample that stands worst in the way (largest diffraction parameter), −1 when there is none. */
  worst: number;
  /** First sample above the direct ray from the unit, −1 when there is none. */
  first: number;
  worstAboveLineM: number;
}

/** Height of the direct ray at sample i less Earth bulge, so that it compares with heights AMSL as they stand, m. */
export function lineAtM(p: PathProfile, i: number, k: number): number {
  const d1 = i * p.stepM;
  const d2 = p.distanceM - d1;
  const straight = p.distanceM === 0 ? p.unitAmslM : p.unitAmslM + ((p.terminalAmslM - p.unitAmslM) * d1) / p.distanceM;
  return straight - (d1 * d2) / (2 * k * EARTH_RADIUS_KM * 1000);
}

/** Radius of the first Fresnel zone at sample i, m: sqrt(λ·d1·d2/d) (ITU-R P.526 §2, eq. 2). */
export function fresnelRadiusM(p: PathProfile, i: number, frequencyMHz: number): number {
  const d1 = i * p.stepM;
  return Math.sqrt(((LIGHT_M_PER_US / frequencyMHz) * d1 * (p.distanceM - d1)) / p.distanceM);
}

/** Clearance of the direct ray over the solid profile. */
export function clearance(p: PathProfile, frequencyMHz: number, k: number): Clearance {
  let ratio = Number.POSITIVE_INFINITY;
  let worst = -1;
  let first = -1;
  let unknown = false;
  for (let i = 1; i < p.n - 1; i++) {
    const height = p.solidM[i]!;
    if (p.voids[i] !== 0) {
      unknown = true;
      continue;
    }
    const clear = lineAtM(p, i, k) - height;
    const here = clear / fresnelRadiusM(p, i, frequencyMHz);
    if (here < ratio) {
      ratio = here;
      worst = i;
    }
    if (clear <= 0 && first < 0) first = i;
  }
  const known = worst >= 0;
  const lineOfSight = known && ratio <= 0 ? false : unknown || !known ? null : true;
  return {
    lineOfSight,
    fresnelRatio: known ? ratio : Number.NaN,
    worst,
    first,
    worstAboveLineM: known ? p.solidM[worst]! - lineAtM(p, worst, k) : Number.NaN,
  };
}

/** Length of the direct ray inside vegetation, m (samples whose ray height lies below the canopy top). */
export function vegetationLengthM(p: PathProfile, k: number): number {
  if (!p.hasCanopy) return 0;
  let inside = 0;
  for (let i = 1; i < p.n - 1; i++) if (p.canopyTopM[i]! > lineAtM(p, i, k)) inside++;
  return inside * p.stepM;
}
