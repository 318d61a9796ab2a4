import { HardstandError } from "../errors/index.ts";
import type { HorizonSample } from "../plan/outputs/types.ts";
import { DEG, toDegrees, wrap360 } from "../units/index.ts";

/** One reading taken with compass and clinometer. */
export interface HorizonReading {
  azimuthDeg: number;
  elevationDeg: number;
  what?: string;
}

/** A horizon measured on the spot, its azimuths brought to true north and sorted. */
export interface MeasuredHorizon {
  readings: HorizonReading[];
  /** Height of the eye over ground when it was taken, m. */
  eyeHeightM: number;
  /** Stretches wider than the largest gap: nothing is known there. From, to, clockwise, degrees true. */
  gaps: [number, number][];
  warnings: { code: string; text: string }[];
}

/** Readings further apart than this leave a gap; between nearer ones the skyline is taken as straight. */
export const LARGEST_GAP_DEG = 15;
/** Computed and measured may differ by clinometer error and outline; more than this is said. */
export const DISAGREE_DEG = 2;

const say = (message: string, where: string, received: unknown, hint: string) =>
  new HardstandError("sky.horizon-file", message, { where, received, hint });

/**
 * Reads pairs of azimuth and elevation as typed in the field or from a CSV file: two numbers a line, parted by comma,
 * semicolon, tab or spaces; a header and lines starting with # are passed over; a third field says what stands there.
 * Decimal degrees, or degrees and minutes as 12°30' or 12 30' (then commas part the fields).
 * Throws sky.horizon-file, with the line, for what cannot be read.
 */
export function parseHorizon(text: string): HorizonReading[] {
  const out: HorizonReading[] = [];
  const lines = text.replace(/^\uFEFF/, "").split(/\r?\n/);
  lines.forEach((raw, i) => {
    const line = raw.trim();
    if (line === "" || line.startsWith("#")) return;
    const parted = /[;\t]/.test(line) ? line.split(/[;\t]/) : line.includes(",") ? line.split(",") : line.split(/\s+/);
    // A decimal comma with semicolons or tabs between the fields.
    const fields = parted.map((f) => f.trim()).filter((f, n) => f !== "" || n < 2);
    if (out.length === 0 && /^[\p{L}_ ()°"]+$/u.test(fields[0] ?? "")) return;
    const where = `line ${i + 1}`;
    if (fields.length < 2) throw say("a line needs an azimuth and an elevation", where, line, "write it as 182, 14.5");
    const decimal = /[;\t]/.test(line);
    const azimuthDeg = degrees(fields[0]!, decimal, where);
    const elevationDeg = degrees(fields[1]!, decimal, where);
    if (!(azimuthDeg >= 0 && azimuthDeg <= 360))
      throw say("the azimuth must lie from 0 to 360", where, fields[0], "azimuth comes first, elevation second");
    if (!(elevationDeg >= -30 && elevationDeg <= 90))
      throw say("the elevation must lie from −30 to 90", where, fields[1], "azimuth comes first, elevation second");
    const what = fields.slice(2).join(", ").replace(/^"|"$/g, "");
    out.push(what === "" ? { azimuthDeg, elevationDeg } : { azimuthDeg, elevationDeg, what });
  });
  if (out.length === 0)
    throw say("no readings were found", "the file", text.slice(0, 40), "one azimuth and elevation a line");
  return out;
}

function degrees(field: string, decimalComma: boolean, where: string): number {
  const text = (decimalComma ? field.replace(",", ".") : field).replace(/[−–]/g, "-").replace(/"$|^"/g, "");
  const plain = Number(text.replace(/°$/, ""));
  if (text !== "" && Number.isFinite(plain)) return plain;
  const dm = /^(-?)(\d+)\s*[°d ]\s*(\d+(?:\.\d+)?)\s*['′m]?(?:\s*(\d+(?:\.\d+)?)\s*["″s]?)?$/.exec(text);
  if (dm === null)
    throw say(
      "this is not an angle",
      where,
      field,
      "write decimal degrees, as 14.5, or degrees and minutes, as 14°30'",
    );
  const [minutes, seconds] = [Number(dm[3]), Number(dm[4] ?? 0)];
  if (minutes >= 60 || seconds >= 60)
    throw say("minutes and seconds stay below 60", where, field, "write 14.5 or 14°30'");
  return (dm[1] === "-" ? -1 : 1) * (Number(dm[2]) + minutes / 60 + seconds / 3600);
}

/**
 * Brings readings to true north and finds the gaps.
 * @param reference  north the azimuths were read from
 * @param turn       declination (for magnetic) and grid convergence (for grid) at the spot, degrees east positive
 */
export function measuredHorizon(
  readings: readonly HorizonReading[],
  eyeHeightM: number,
  reference: "true" | "magnetic" | "grid",
  turn: { declinationDeg: number; convergenceDeg: number },
): MeasuredHorizon {
  const add = reference === "magnetic" ? turn.declinationDeg : reference === "grid" ? turn.convergenceDeg : 0;
  const warnings: { code: string; text: string }[] = [];
  const sorted = readings
    .map((r) => ({ ...r, azimuthDeg: wrap360(r.azimuthDeg + add) }))
    .sort((a, b) => a.azimuthDeg - b.azimuthDeg);
  // The same bearing twice: the higher reading stands.
  const kept: HorizonReading[] = [];
  for (const r of sorted) {
    const last = kept.at(-1);
    if (last === undefined || r.azimuthDeg - last.azimuthDeg > 1e-6) kept.push(r);
    else if (r.elevationDeg > last.elevationDeg) kept[kept.length - 1] = r;
  }
  const gaps: [number, number][] = [];
  for (let i = 0; i < kept.length; i++) {
    const a = kept[i]!.azimuthDeg;
    const b = i + 1 < kept.length ? kept[i + 1]!.azimuthDeg : kept[0]!.azimuthDeg + 360;
    if (b - a > LARGEST_GAP_DEG) gaps.push([a, wrap360(b)]);
  }
  for (const [a, b] of gaps)
    warnings.push({
      code: "sky.horizon-gap",
      text: `The measured horizon has nothing from ${a.toFixed(0)}° to ${b.toFixed(0)}° true: the computed one holds there.`,
    });
  return { readings: kept, eyeHeightM, gaps, warnings };
}

/** Measured elevation at a true azimuth, straight between readings; null in a gap. */
export function measuredAt(horizon: MeasuredHorizon, azimuthDeg: number): number | null {
  const { readings } = horizon;
  const az = wrap360(azimuthDeg);
  if (readings.length === 0) return null;
  let after = readings.findIndex((r) => r.azimuthDeg >= az);
  if (after < 0) after = readings.length;
  const b = readings[after % readings.length]!;
  const a = readings[(after - 1 + readings.length) % readings.length]!;
  const bAz = after >= readings.length ? b.azimuthDeg + 360 : b.azimuthDeg;
  const aAz = after === 0 ? a.azimuthDeg - 360 : a.azimuthDeg;
  if (Math.abs(bAz - az) < 1e-9) return b.elevationDeg;
  if (bAz - aAz > LARGEST_GAP_DEG) return null;
  return a.elevationDeg + ((b.elevationDeg - a.elevationDeg) * (az - aAz)) / (bAz - aAz);
}

/**
 * Clearance of a direction to the measured skyline: the least angle between it and the skyline's edge, degrees; minus the
 * elevation needed where the skyline stands higher; null where a gap lies within `withinDeg` of the direction.
 * A reading has no distance, so the dish's own width is left out.
 */
export function measuredClearance(
  horizon: MeasuredHorizon,
  azimuthDeg: number,
  elevationDeg: number,
  withinDeg: number,
): { clearanceDeg: number; azimuthDeg: number; elevationDeg: number; what: string } | null {
  const here = measuredAt(horizon, azimuthDeg);
  const wide = Math.sin(withinDeg * DEG) / Math.cos(Math.min(89, elevationDeg) * DEG);
  const half = wide >= 1 ? 90 : toDegrees(Math.asin(wide));
  for (let d = -half; d <= half; d += half / 20) if (measuredAt(horizon, azimuthDeg + d) === null) return null;
  if (here === null) return null;
  if (here > elevationDeg)
    return { clearanceDeg: elevationDeg - here, azimuthDeg, elevationDeg: here, what: whatAt(horizon, azimuthDeg) };
  let best = { clearanceDeg: elevationDeg - here, azimuthDeg, elevationDeg: here };
  for (let d = -90; d <= 90; d += 0.25) {
    const h = measuredAt(horizon, azimuthDeg + d);
    if (h === null) continue;
    const angle = reachDeg(d, h, elevationDeg);
    if (angle < best.clearanceDeg) best = { clearanceDeg: angle, azimuthDeg: wrap360(azimuthDeg + d), elevationDeg: h };
  }
  return { ...best, what: whatAt(horizon, best.azimuthDeg) };
}

/** Least angle between the direction and anything at azimuth offset d from the ground up to elevation h, degrees. */
function reachDeg(offsetDeg: number, topDeg: number, elevationDeg: number): number {
  const [d, el] = [offsetDeg * DEG, elevationDeg * DEG];
  // On the great circle of that azimuth the nearest elevation to the direction.
  const nearest = toDegrees(Math.atan2(Math.sin(el), Math.cos(el) * Math.cos(d)));
  const h = Math.min(topDeg, nearest) * DEG;
  const cos = Math.sin(el) * Math.sin(h) + Math.cos(el) * Math.cos(h) * Math.cos(d);
  return toDegrees(Math.acos(Math.min(1, Math.max(-1, cos))));
}

function whatAt(horizon: MeasuredHorizon, azimuthDeg: number): string {
  let best = "";
  let nearest = LARGEST_GAP_DEG;
  for (const r of horizon.readings) {
    const off = Math.abs(wrap360(r.azimuthDeg - azimuthDeg + 180) - 180);
    if (r.what !== undefined && off < nearest) {
      nearest = off;
      best = r.what;
    }
  }
  return best;
}

export interface HorizonDifference {
  azimuthDeg: number;
  measuredDeg: number;
  computedDeg: number;
  /** Measured less computed: positive where more stands there than the data say. */
  differenceDeg: number;
}

/** Where measured and computed skyline differ by more than DISAGREE_DEG: the worst of each run of azimuths. */
export function horizonDifferences(
  horizon: MeasuredHorizon,
  samples: readonly HorizonSample[],
  withinDeg = DISAGREE_DEG,
): HorizonDifference[] {
  const out: HorizonDifference[] = [];
  let run: HorizonDifference | null = null;
  for (const s of samples) {
    const measuredDeg = measuredAt(horizon, s.azimuthDeg);
    const differenceDeg = measuredDeg === null || s.elevationDeg === null ? 0 : measuredDeg - s.elevationDeg;
    if (Math.abs(differenceDeg) <= withinDeg || measuredDeg === null || s.elevationDeg === null) {
      if (run !== null) out.push(run);
      run = null;
      continue;
    }
    const here = { azimuthDeg: s.azimuthDeg, measuredDeg, computedDeg: s.elevationDeg, differenceDeg };
    if (run !== null && Math.sign(run.differenceDeg) !== Math.sign(differenceDeg)) {
      out.push(run);
      run = null;
    }
    if (run === null || Math.abs(differenceDeg) > Math.abs(run.differenceDeg)) run = here;
  }
  if (run !== null) out.push(run);
  return out;
}

/**
 * Lays the measured skyline over the computed one.
 * @param mode  "replace": measured wherever there is a reading; "tighten": the higher of the two
 */
export function mergeHorizon(
  horizon: MeasuredHorizon,
  samples: readonly HorizonSample[],
  mode: "replace" | "tighten",
): HorizonSample[] {
  return samples.map((s) => {
    const m = measuredAt(horizon, s.azimuthDeg);
    if (m === null) return s;
    if (mode === "tighten" && s.elevationDeg !== null && s.elevationDeg >= m) return s;
    return { ...s, elevationDeg: m, kind: "measured", id: null, distanceM: null };
  });
}
