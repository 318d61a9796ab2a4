import { HardstandError } from "../errors/index.ts";
import { wrap360 } from "../units/index.ts";

/** dBi of a half-wave dipole: gains in dBd are this much lower. */
const DIPOLE_DBI = 2.15;
/** A level this far below the peak counts as no radiation at all. */
const FLOOR_DB = 60;
const MAX_CHARACTERS = 2_000_000;

/** A digitised pattern: attenuation below the peak at whole degrees. */
export interface MeasuredPattern {
  model: string;
  gainDbi: number;
  /** dB below the peak of the cut, by azimuth from the beam 0…359, clockwise seen from above. */
  azimuthLossDb: Float64Array;
  /** dB below the peak of the cut, by elevation in the plane of the beam: 0 ahead, 90 up, 180 behind, 270 down. */
  elevationLossDb: Float64Array;
  /** Elevation of the peak, degrees, up positive. */
  peakElevationDeg: number;
  warnings: { code: string; text: string }[];
}

const problem = (message: string, where: string, received: unknown, hint: string) =>
  new HardstandError("model.input", message, { where, received, hint });

interface Cut {
  kind: string;
  polarization: string;
  line: number;
  declared: number | null;
  angles: number[];
  levels: number[];
}

/** Linear interpolation on the circle at whole degrees; a span without points is filled across, as its ends say. */
function resample(cut: Cut, where: string): Float64Array {
  const points = new Map<number, number>();
  for (const [i, angle] of cut.angles.entries()) points.set(wrap360(angle), cut.levels[i]!);
  const sorted = [...points].sort((a, b) => a[0] - b[0]);
  if (sorted.length < 8)
    throw problem(`the ${cut.kind} cut has fewer than eight points`, where, sorted.length, "give a full cut");
  const out = new Float64Array(360);
  let next = 0;
  for (let deg = 0; deg < 360; deg++) {
    while (next < sorted.length && sorted[next]![0] < deg) next++;
    const after = sorted[next % sorted.length]!;
    const before = sorted[(next - 1 + sorted.length) % sorted.length]!;
    const span = wrap360(after[0] - before[0]) || 360;
    const t = after[0] === deg ? 1 : wrap360(deg - before[0]) / span;
    out[deg] = before[1] + (after[1] - before[1]) * t;
  }
  let peak = Number.NEGATIVE_INFINITY;
  for (const level of out) peak = Math.max(peak, level);
  for (let deg = 0; deg < 360; deg++) out[deg] = Math.min(FLOOR_DB, peak - out[deg]!);
  return out;
}

function number(text: string, where: string): number {
  const value = Number(text.trim());
  if (text.trim() === "" || !Number.isFinite(value)) throw problem("a number is expected", where, text, "as in 10.5");
  return value;
}

/**
 * Reads a digitised antenna pattern in the open industry text format: records of tag and values, then for each cut
 * its points as angle, level and perhaps phase. Reads what one antenna on the unit needs: gain, one cut in azimuth (H or
 * AZ), one in elevation (V or EL), the first of each; other polarizations and frequencies are left out with a warning.
 * @param text  the file
 * @param file  its name, for messages
 * @returns losses below the peak at whole degrees, gain in dBi
 * Throws model.input with the line for what it cannot use.
 * Not checked against the annex that fixes the sense of angles (its text was not opened): azimuth is taken clockwise
 * seen from above and elevation positive upwards; a stated electrical downtilt that disagrees is warned about.
 * Source: NSMA Recommendation WG16.99.050 (1999), the same as TIA-804; record names as public listings of it give them.
 */
export function readMeasuredPattern(text: string, file = "pattern"): MeasuredPattern {
  if (text.length > MAX_CHARACTERS) throw problem("the pattern file is too long", file, text.length, "at most 2 MB");
  const warnings: MeasuredPattern["warnings"] = [];
  const fields = new Map<string, string>();
  const cuts: Cut[] = [];
  for (const [i, raw] of text.split(/\r\n|\n|\r/).entries()) {
    const where = `${file} line ${i + 1}`;
    const line = raw.split("!")[0]!.trim();
    if (line === "") continue;
    const tagged = /^([A-Z][A-Z0-9]{5}):?,(.*)$/i.exec(line);
    const cut = cuts.at(-1);
    if (tagged !== null) {
      const tag = tagged[1]!.toUpperCase();
      const value = tagged[2]!.trim();
      if (tag === "ENDFIL") break;
      if (tag === "PATCUT")
        cuts.push({ kind: value.toUpperCase(), polarization: "", line: i + 1, declared: null, angles: [], levels: [] });
      else if (tag === "POLARI" && cut !== undefined) cut.polarization = value;
      else if (tag === "NUPOIN" && cut !== undefined) cut.declared = number(value, where);
      else if (!fields.has(tag)) fields.set(tag, value);
    } else {
      if (cut === undefined)
        throw problem("a pattern point stands before the first cut", where, line, "PATCUT opens a cut");
      const [angle, level] = line.split(",");
      cut.angles.push(number(angle ?? "", where));
      cut.levels.push(number(level ?? "", where));
    }
  }
  const pick = (names: string[]) => cuts.filter((c) => names.includes(c.kind));
  const [azimuth, ...moreAzimuth] = pick(["AZ", "H"]);
  const [elevation, ...moreElevation] = pick(["EL", "V"]);
  if (azimuth === undefined || elevation === undefined)
    throw problem(
      "an azimuth and an elevation cut are needed",
      file,
      cuts.map((c) => c.kind).join(" ") || "no cuts",
      "PATCUT H or AZ, and V or EL",
    );
  const left = cuts.length - 2;
  if (left > 0)
    warnings.push({
      code: "pattern.cuts-left-out",
      text: `${left} further cut(s) are left out (${[...moreAzimuth, ...moreElevation].map((c) => c.polarization || c.kind).join(", ")})`,
    });
  for (const cut of [azimuth, elevation])
    if (cut.declared !== null && cut.declared !== cut.angles.length)
      warnings.push({
        code: "pattern.points-disagree",
        text: `cut ${cut.kind} at line ${cut.line} declares ${cut.declared} points and holds ${cut.angles.length}`,
      });

  const gain = fields.get("MDGAIN") ?? fields.get("LWGAIN") ?? fields.get("HGGAIN");
  if (gain === undefined) throw problem("the gain is missing", file, null, "record MDGAIN");
  const units = (fields.get("GUNITS") ?? "DBI/DBR").toUpperCase();
  const inDbd = units.startsWith("DBD");
  if (!inDbd && !units.startsWith("DBI"))
    throw problem("the gain's unit is not known", file, units, "GUNITS DBI or DBD");

  const elevationLossDb = resample(elevation, file);
  let peakElevationDeg = 0;
  for (let off = 0; off <= 90; off++)
    for (const deg of [off, -off])
      if (elevationLossDb[wrap360(deg)]! < elevationLossDb[wrap360(peakElevationDeg)]! - 1e-9) peakElevationDeg = deg;
  const tilt = Number((fields.get("ELTILT") ?? "0").split(",")[0]);
  if (Math.abs(tilt) >= 1 && Math.sign(-peakElevationDeg) !== Math.sign(tilt) && peakElevationDeg !== 0)
    warnings.push({
      code: "pattern.tilt-disagrees",
      text: `downtilt is stated as ${tilt}°, but the elevation cut peaks at ${peakElevationDeg}°: check which way is up`,
    });
  return {
    model: fields.get("MODNUM") ?? "",
    gainDbi: number(gain.split(",")[0]!, file) + (inDbd ? DIPOLE_DBI : 0),
    azimuthLossDb: resample(azimuth, file),
    elevationLossDb,
    peakElevationDeg,
    warnings,
  };
}

/** Loss at any angle of a table at whole degrees. */
function at(table: Float64Array, deg: number): number {
  const wrapped = wrap360(deg);
  const low = Math.floor(wrapped) % 360;
  const t = wrapped - Math.floor(wrapped);
  return table[low]! * (1 - t) + table[(low + 1) % 360]! * t;
}

/**
 * Gain of a measured pattern off its two cuts, relative to the peak.
 * @param offAzimuthDeg  from the beam's azimuth, −180 to 180
 * @param elevationDeg   from the horizon after mechanical tilt, −90 to 90
 * @returns dB, −60 to 0. Exact on both cuts; between them an interpolation: ahead the elevation cut's front half
 *          counts, behind its back half against its level straight behind, in proportion to the azimuth
 * Source: interpolation of a pattern from its horizontal and vertical cuts as used in mobile radio planning (weights
 * 1 − |φ|/180° and |φ|/180°), from memory.
 */
export function measuredGainDb(pattern: MeasuredPattern, offAzimuthDeg: number, elevationDeg: number): number {
  const behind = Math.min(1, Math.abs(offAzimuthDeg) / 180);
  const front = at(pattern.elevationLossDb, elevationDeg);
  const back =
    at(pattern.elevationLossDb, 180 - elevationDeg) - at(pattern.elevationLossDb, 180 - pattern.peakElevationDeg);
  const loss = at(pattern.azimuthLossDb, offAzimuthDeg) + (1 - behind) * front + behind * back;
  return -Math.min(FLOOR_DB, Math.max(0, loss));
}
