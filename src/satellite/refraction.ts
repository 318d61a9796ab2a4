import { toRadians } from "../units/index.ts";

/** Scale height of the reference atmosphere that carries the correction to zero with height, km (ITU-R P.453 reference). */
const SCALE_HEIGHT_KM = 7.35;

/**
 * Bending of a radio ray from space for the reference atmosphere: how much higher the source seems than straight geometry says.
 * @param elevationDeg  geometric (free-space) elevation, degrees, any value
 * @param heightKm      height of the site above sea level, km; taken as 0 … 3 inside the fit
 * @returns degrees, >= 0; about 0.14 at 5° and 0.03 at 30° from sea level; 0 far below the horizon
 * The fit holds from −1° to 10°; above 10° the cotangent law runs on from the fit's own value there.
 * Source: Rec. ITU-R P.834 §4 (correction as a function of free-space elevation; also Rec. ITU-R P.619 Annex 1); coefficients from memory.
 */
export function refractionDeg(elevationDeg: number, heightKm: number): number {
  if (Number.isNaN(elevationDeg) || Number.isNaN(heightKm)) return Number.NaN;
  if (elevationDeg < -3) return 0;
  const h = Math.min(3, Math.max(0, heightKm));
  const above = heightKm > 3 ? Math.exp(-(heightKm - 3) / SCALE_HEIGHT_KM) : 1;
  const el = Math.max(-1, elevationDeg);
  if (el <= 10) return above * bendDeg(el, h);
  const fade = Math.tan(toRadians(10)) / Math.tan(toRadians(Math.min(el, 90)));
  return el >= 90 ? 0 : above * bendDeg(10, h) * fade;
}

function bendDeg(el: number, h: number): number {
  return (
    1 /
    (1.728 +
      0.5411 * el +
      0.03723 * el * el +
      h * (0.1815 + 0.06272 * el + 0.0138 * el * el) +
      h * h * (0.01727 + 0.008288 * el))
  );
}
