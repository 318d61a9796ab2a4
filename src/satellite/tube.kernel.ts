/**
 * The clear tube of a dish: a circle round the line to the satellite, of radius R at the dish and R + s·t at s along it,
 * closed by a half ball of radius R behind the dish. t = tan of the margin. What stands in it is vertical columns.
 *
 * The ray's frame, metres from the dish centre: a along the ray's azimuth (horizontal), b across it (to the right),
 * z up. c and sn are cosine and sine of elevation. A point lies s = a·c + z·sn along the axis and
 * rho = √(b² + (z·c − a·sn)²) off it; the tube of tangent t just reaches it at t = (rho − R)/s.
 *
 * (rho − R)/s has convex level sets for s > 0 (they are the tubes), so along a column and along a wall it has one minimum:
 * bisection on its slope and golden section find it.
 */

/** Stands for "behind the dish"; grows backwards so that a search along a wall still finds its way. */
const BEHIND = 1e9;
const GOLDEN = 0.6180339887498949;

/** Least t at which the tube reaches a column at (a, b) with top z; −Infinity where the column stands in the dish itself. */
export function columnTangent(a: number, b: number, top: number, c: number, sn: number, radius: number): number {
  const flat2 = a * a + b * b;
  if (flat2 < radius * radius && top > -Math.sqrt(radius * radius - flat2)) return Number.NEGATIVE_INFINITY;
  const z = columnHeight(a, b, top, c, sn, radius);
  const s = a * c + z * sn;
  if (!(s > 1e-9)) return BEHIND - s;
  const w = z * c - a * sn;
  return (Math.sqrt(b * b + w * w) - radius) / s;
}

/** Height on the column, at most `top`, where the tube first touches it. */
export function columnHeight(a: number, b: number, top: number, c: number, sn: number, radius: number): number {
  if (slope(a, b, top, c, sn, radius) <= 0) return top;
  // The touching point lies no lower than one radius under the axis, and in front of the dish.
  let low = -(a * c) / sn + 1e-9;
  const under = (a * sn - radius) / c;
  if (under > low) low = under;
  let high = top;
  if (!(low < high)) return top;
  for (let i = 0; i < 40 && high - low > 1e-4; i++) {
    const mid = 0.5 * (low + high);
    if (slope(a, b, mid, c, sn, radius) > 0) high = mid;
    else low = mid;
  }
  return 0.5 * (low + high);
}

/** Sign of d/dz of (rho − R)/s. */
function slope(a: number, b: number, z: number, c: number, sn: number, radius: number): number {
  const w = z * c - a * sn;
  const s = a * c + z * sn;
  if (s <= 0) return -1;
  const rho = Math.sqrt(b * b + w * w);
  return rho === 0 ? radius * sn : (w * c * s) / rho - (rho - radius) * sn;
}

/**
 * Least t over a vertical wall between two columns of the same top. `at[0]` receives the share of the way (0…1) from the
 * first to the second end where the tube touches.
 */
export function wallTangent(
  a1: number,
  b1: number,
  a2: number,
  b2: number,
  top: number,
  c: number,
  sn: number,
  radius: number,
  at: Float64Array,
): number {
  const da = a2 - a1;
  const db = b2 - b1;
  let low = 0;
  let high = 1;
  let x1 = 1 - GOLDEN;
  let x2 = GOLDEN;
  let f1 = columnTangent(a1 + x1 * da, b1 + x1 * db, top, c, sn, radius);
  let f2 = columnTangent(a1 + x2 * da, b1 + x2 * db, top, c, sn, radius);
  const length = Math.sqrt(da * da + db * db);
  for (let i = 0; i < 40 && (high - low) * length > 2e-3; i++) {
    if (f1 <= f2) {
      high = x2;
      x2 = x1;
      f2 = f1;
      x1 = high - GOLDEN * (high - low);
      f1 = columnTangent(a1 + x1 * da, b1 + x1 * db, top, c, sn, radius);
    } else {
      low = x1;
      x1 = x2;
      f1 = f2;
      x2 = low + GOLDEN * (high - low);
      f2 = columnTangent(a1 + x2 * da, b1 + x2 * db, top, c, sn, radius);
    }
  }
  let best = Math.min(f1, f2);
  at[0] = f1 <= f2 ? x1 : x2;
  // The ends themselves: the search stops a hair inside them.
  const e1 = columnTangent(a1, b1, top, c, sn, radius);
  const e2 = columnTangent(a2, b2, top, c, sn, radius);
  if (e1 <= best) {
    best = e1;
    at[0] = 0;
  }
  if (e2 < best) {
    best = e2;
    at[0] = 1;
  }
  return best;
}

/**
 * Whether the tube of tangent t can reach anything inside a circle of columns round (a, b) no taller than `top`.
 * Cheap and never wrong on the safe side: false means certainly out of reach.
 */
export function mayReach(
  a: number,
  b: number,
  round: number,
  top: number,
  c: number,
  sn: number,
  radius: number,
  t: number,
): boolean {
  const far = a + round;
  // How far along the axis the tube can be while still over horizontal distance `far`.
  const forward = c - t * sn;
  if (forward > 1e-6) {
    if (far < -radius) return false;
    const s = (far + radius * sn) / forward;
    const half = radius + (t > 0 && s > 0 ? t * s : 0);
    if ((b > 0 ? b : -b) - round > half) return false;
    // Height of the tube's lower edge: a straight line from the dish's lower rim at slope (sn − t·c)/(c + t·sn).
    const rise = (sn - t * c) / (c + t * sn);
    const x = rise > 0 ? a - round : far;
    const low = -radius * c + (x - radius * sn) * rise;
    if (x >= radius * sn && c + t * sn > 0 && top < low) return false;
  }
  return true;
}

/**
 * The same question with the tube's true round section: tighter than mayReach, and as safe. Over all points (a, b, z ≤ top)
 * the least of rho − R − t·s has a closed form; a point of the circle lies at most `round` nearer to the axis and
 * round·c further along it than the one above the circle's centre.
 * @param t tangent of the margin, ≥ 0
 */
export function mayTouch(
  a: number,
  b: number,
  round: number,
  top: number,
  c: number,
  sn: number,
  radius: number,
  t: number,
): boolean {
  // Beside the dish itself the half ball behind it counts too.
  const near = round + radius;
  if (a * a + b * b < near * near) return true;
  // With w = z·c − a·sn, the offset upwards: rho = √(b² + w²), s = (a + w·sn)/c.
  const q = (t * sn) / c;
  let w = top * c - a * sn;
  if (q < 1) {
    const least = (q * (b > 0 ? b : -b)) / Math.sqrt(1 - q * q);
    if (least < w) w = least;
  }
  return Math.sqrt(b * b + w * w) - q * w - radius - (t * a) / c <= round * (1 + t * c);
}
