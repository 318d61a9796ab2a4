import { HardstandError } from "../errors/index.ts";
import type { LngLat } from "../geodesy/types.ts";
import type { LookRow } from "../plan/outputs/types.ts";
import { toDegrees, toRadians, wrap180, wrap360 } from "../units/index.ts";
import { refractionDeg } from "./refraction.ts";

/** Radius of the geostationary orbit used by the ITU-R validation workbook (Rev. 8.1.1), km. */
export const GSO_RADIUS_KM = 42164.2;
const WGS84_A_KM = 6378.137;
const WGS84_F = 1 / 298.257223563;
const WGS84_E2 = WGS84_F * (2 - WGS84_F);
const LIGHT_KM_PER_MS = 299.792458;

/**
 * Where a geostationary satellite stands in the sky of a site: WGS 84 ellipsoid, exact vectors.
 * @param site            longitude and latitude, degrees; heightM above the ellipsoid, m
 * @param satelliteDeg    longitude of the satellite, degrees east, any turn
 * @param declinationDeg  magnetic declination at the site, degrees, east positive (from the caller's field model)
 * @returns azimuths clockwise from true and magnetic north, [0, 360); elevation geometric and as refracted (degrees);
 *   skew in (−90, 90], positive clockwise as seen from behind the dish looking at the satellite: the tilt of the
 *   satellite's own vertical (parallel to the Earth's axis) against the vertical at the site; range in km; delay in ms
 *   one way, site to satellite; `visible` when the geometric elevation is above 0.
 * At a pole, azimuth counts from the meridian given as longitude. Straight below the satellite azimuth and skew are 0.
 * Throws geodesy.out-of-range for positions that are not on the globe.
 * Accuracy: 1e-9° against the ITU-R workbook's elevations. Refraction: see refractionDeg.
 */
export function lookAngles(site: LngLat & { heightM: number }, satelliteDeg: number, declinationDeg: number): LookRow {
  check(site, satelliteDeg);
  const dl = toRadians(wrap180(site.lng - satelliteDeg));
  const lat = toRadians(site.lat);
  const sinLat = Math.sin(lat);
  const cosLat = Math.abs(site.lat) === 90 ? 0 : Math.cos(lat);
  const sinDl = Math.sin(dl);
  const cosDl = Math.cos(dl);
  const h = site.heightM / 1000;
  const n = WGS84_A_KM / Math.sqrt(1 - WGS84_E2 * sinLat * sinLat);
  // The satellite lies on the x axis: v is the vector from site to satellite, km.
  const vx = GSO_RADIUS_KM - (n + h) * cosLat * cosDl;
  const vy = -(n + h) * cosLat * sinDl;
  const vz = -(n * (1 - WGS84_E2) + h) * sinLat;
  const rangeKm = Math.hypot(vx, vy, vz);
  const up = (vx * cosLat * cosDl + vy * cosLat * sinDl + vz * sinLat) / rangeKm;
  const east = (-vx * sinDl + vy * cosDl) / rangeKm;
  const north = (-vx * sinLat * cosDl - vy * sinLat * sinDl + vz * cosLat) / rangeKm;
  const flat = Math.hypot(east, north);
  const elevationDeg = toDegrees(Math.atan2(up, flat));
  const overhead = flat < 1e-12;
  const azimuthDeg = overhead ? 0 : turn(toDegrees(Math.atan2(east, north)));
  return {
    satelliteDeg,
    azimuthDeg,
    azimuthMagneticDeg: turn(azimuthDeg - declinationDeg),
    declinationDeg,
    elevationDeg,
    elevationRefractedDeg: elevationDeg + refractionDeg(elevationDeg, h),
    skewDeg: overhead ? 0 : skew(east / flat, north / flat, up, flat, cosLat, sinLat),
    rangeKm,
    delayMs: rangeKm / LIGHT_KM_PER_MS,
    visible: elevationDeg > 0,
  };
}

/**
 * Tilt of the Earth's axis, seen along the line of sight, against the local vertical.
 * In the site's east-north-up frame the axis is (0, cos lat, sin lat). Behind the dish, "right" is azimuth + 90° and
 * "up" is the vertical's part across the line of sight; the tilt is the angle from up towards right.
 */
function skew(sinAz: number, cosAz: number, sinEl: number, cosEl: number, cosLat: number, sinLat: number): number {
  const right = -sinAz * cosLat;
  const up = -sinEl * cosAz * cosLat + cosEl * sinLat;
  if (Math.hypot(right, up) < 1e-12) return 0;
  // An axis has no head: −180…180 folds into (−90, 90].
  let deg = toDegrees(Math.atan2(right, up));
  if (deg <= -90) deg += 180;
  else if (deg > 90) deg -= 180;
  return deg === 0 ? 0 : deg;
}

/** [0, 360) without a negative zero, and without 360 from rounding. */
function turn(deg: number): number {
  const wrapped = wrap360(deg);
  return wrapped === 360 || wrapped === 0 ? 0 : wrapped;
}

function check(site: LngLat & { heightM: number }, satelliteDeg: number): void {
  if (!(Math.abs(site.lat) <= 90))
    throw new HardstandError("geodesy.out-of-range", "the site's latitude must lie from −90 to 90", {
      where: "latitude",
      received: site.lat,
      hint: "latitude is the second number of a position; longitude comes first",
    });
  if (!Number.isFinite(site.lng) || Math.abs(site.lng) > 540)
    throw new HardstandError("geodesy.out-of-range", "the site's longitude must be a number of degrees", {
      where: "longitude",
      received: site.lng,
      hint: "write it from −180 to 180, east positive",
    });
  if (!Number.isFinite(satelliteDeg) || Math.abs(satelliteDeg) > 360)
    throw new HardstandError("geodesy.out-of-range", "the satellite's longitude must be a number of degrees", {
      where: "satellite longitude",
      received: satelliteDeg,
      hint: "write it from −180 to 180, east positive, as in −97 for 97° W",
    });
  if (!(site.heightM > -10_000 && site.heightM < 1_000_000))
    throw new HardstandError("geodesy.out-of-range", "the site's height is not one on Earth", {
      where: "height",
      received: site.heightM,
      hint: "give metres above the ellipsoid; 0 will do for look angles",
    });
}

/** Look angles of every slot at the given spacing that stands above a least elevation, from east to west of the site's sky. */
export function visibleArc(
  site: LngLat & { heightM: number },
  declinationDeg: number,
  options: { stepDeg?: number; minElevationDeg?: number } = {},
): LookRow[] {
  const step = options.stepDeg ?? 1;
  if (!(step >= 0.05 && step <= 30))
    throw new HardstandError("model.input", "the spacing of slots must lie from 0.05 to 30 degrees", {
      where: "stepDeg",
      received: step,
    });
  const least = options.minElevationDeg ?? 0;
  const rows: LookRow[] = [];
  // Slots stand on multiples of the step, so that two sites list the same satellites.
  const first = Math.ceil((site.lng - 90) / step);
  const last = Math.floor((site.lng + 90) / step);
  for (let i = last; i >= first; i--) {
    const row = lookAngles(site, wrap180(Number((i * step).toFixed(6))), declinationDeg);
    if (row.elevationDeg > least) rows.push(row);
  }
  return rows;
}
