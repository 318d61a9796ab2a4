/** Constants and conversions. One unit per quantity across rooms: m, km where a Recommendation says so, MHz, degrees, dB. */

/** Mean Earth radius used by the propagation Recommendations, km (ITU-R P.452, P.1812 §4.4). */
export const EARTH_RADIUS_KM = 6371;
/** Median effective Earth-radius factor for a 39 N-units/km gradient (common practice 4/3; ITU-R P.834). */
export const STANDARD_K = 4 / 3;
export const METRES_PER_FOOT = 0.3048;
/** US survey foot, exact: 1200/3937 m. */
export const METRES_PER_US_SURVEY_FOOT = 1200 / 3937;
export const DEG = Math.PI / 180;

export const toRadians = (deg: number): number => deg * DEG;
export const toDegrees = (rad: number): number => rad / DEG;
/** Any angle to [0, 360). */
export const wrap360 = (deg: number): number => ((deg % 360) + 360) % 360;
/** Any angle to [−180, 180). */
export const wrap180 = (deg: number): number => ((((deg + 180) % 360) + 360) % 360) - 180;
export const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));
export const dbmToMilliwatt = (dbm: number): number => 10 ** (dbm / 10);
export const milliwattToDbm = (mw: number): number => 10 * Math.log10(mw);
/** Wavelength in metres with the given speed of light (m/s). */
export const wavelengthM = (frequencyMHz: number, speedMPerS = 299_792_458): number =>
  speedMPerS / (frequencyMHz * 1e6);
