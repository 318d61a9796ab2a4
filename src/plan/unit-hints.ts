import { METRES_PER_FOOT } from "../units/index.ts";

interface Ending {
  /** Endings of a field's name, as people write them. */
  names: string[];
  what: string;
  /** Ending of our own field and how to get its value. */
  to: { ending: string; convert: (v: number) => number }[];
}

const times = (factor: number) => (v: number) => v * factor;
const ENDINGS: Ending[] = [
  { names: ["Feet", "Foot", "Ft"], what: "feet", to: [{ ending: "M", convert: times(METRES_PER_FOOT) }] },
  { names: ["Inches", "Inch", "In"], what: "inches", to: [{ ending: "M", convert: times(0.0254) }] },
  { names: ["Yards", "Yd"], what: "yards", to: [{ ending: "M", convert: times(0.9144) }] },
  { names: ["Miles", "Mi"], what: "miles", to: [{ ending: "M", convert: times(1609.344) }] },
  { names: ["Km", "Kilometres", "Kilometers"], what: "kilometres", to: [{ ending: "M", convert: times(1000) }] },
  { names: ["Cm"], what: "centimetres", to: [{ ending: "M", convert: times(0.01) }] },
  { names: ["Mm"], what: "millimetres", to: [{ ending: "M", convert: times(0.001) }] },
  { names: ["Metres", "Meters", "Meter", "Metre"], what: "metres", to: [{ ending: "M", convert: times(1) }] },
  {
    names: ["GHz", "Ghz"],
    what: "GHz",
    to: [{ ending: "MHz", convert: times(1000) }],
  },
  {
    names: ["MHz", "Mhz"],
    what: "MHz",
    to: [
      { ending: "MHz", convert: times(1) },
      { ending: "GHz", convert: times(0.001) },
      { ending: "KHz", convert: times(1000) },
    ],
  },
  { names: ["KHz", "kHz", "Khz"], what: "kHz", to: [{ ending: "MHz", convert: times(0.001) }] },
  { names: ["Hz"], what: "Hz", to: [{ ending: "MHz", convert: times(1e-6) }] },
  {
    names: ["Watts", "Watt", "W"],
    what: "watts",
    to: [{ ending: "Dbm", convert: (w) => 10 * Math.log10(w) + 30 }],
  },
  { names: ["Dbw", "DBW"], what: "dBW", to: [{ ending: "Dbm", convert: (v) => v + 30 }] },
  { names: ["dBm", "DBm"], what: "dBm", to: [{ ending: "Dbm", convert: times(1) }] },
  { names: ["dBi", "DBi"], what: "dBi", to: [{ ending: "Dbi", convert: times(1) }] },
  { names: ["Dbd", "dBd"], what: "dBd", to: [{ ending: "Dbi", convert: (v) => v + 2.15 }] },
  { names: ["Gallons", "Gal"], what: "US gallons", to: [{ ending: "L", convert: times(3.785411784) }] },
  { names: ["GalPerH", "Gph"], what: "US gallons an hour", to: [{ ending: "LPerH", convert: times(3.785411784) }] },
  { names: ["Kbps", "kbps"], what: "kb/s", to: [{ ending: "Mbps", convert: times(0.001) }] },
  { names: ["Volts", "V"], what: "volts", to: [{ ending: "Kv", convert: times(0.001) }] },
  { names: ["KV", "kV"], what: "kV", to: [{ ending: "Kv", convert: times(1) }] },
  { names: ["Percent"], what: "per cent", to: [{ ending: "Pct", convert: times(1) }] },
  { names: ["Fraction", "Share", ""], what: "a bare number", to: [] },
];

const OWN_ENDINGS = ["LPerH", "Mbps", "MHz", "GHz", "KHz", "Dbm", "Dbi", "Deg", "Pct", "Db", "Kv", "M", "L"];

/** At most four digits, without a trail of noughts. */
export const roundShort = (v: number): string => String(Number(v.toPrecision(4)));

/**
 * Advice for a field written in another unit than ours, as `tipHeightFt` for `tipHeightM`.
 * @param written  the field's name as received
 * @param value    its value; a number is converted in the advice
 * @param known    names that are allowed there
 * @returns the known field and what to write, or null when the name is no unit mix-up
 */
export function unitMixUp(
  written: string,
  value: unknown,
  known: readonly string[],
): { field: string; advice: string } | null {
  for (const { names, what, to } of ENDINGS)
    for (const name of names) {
      if (name === "" || !written.endsWith(name) || written.length === name.length) continue;
      const stem = written.slice(0, -name.length);
      for (const { ending, convert } of to) {
        const field = stem + ending;
        if (!known.includes(field) || field === written) continue;
        const n = typeof value === "number" ? convert(value) : Number.NaN;
        const advice = Number.isFinite(n)
          ? `write "${field}": ${roundShort(n)} (from ${value} ${what})`
          : `write "${field}" instead of ${what}`;
        return { field, advice };
      }
    }
  // No unit in the name at all: tipHeight for tipHeightM.
  for (const ending of OWN_ENDINGS)
    if (known.includes(written + ending))
      return { field: written + ending, advice: `the unit stands in the name: write "${written + ending}"` };
  return null;
}

interface Guess {
  what: string;
  convert: (v: number) => number;
}
const GUESSES: Record<string, Guess[]> = {
  MHz: [
    { what: "GHz", convert: times(1000) },
    { what: "kHz", convert: times(0.001) },
    { what: "Hz", convert: times(1e-6) },
  ],
  GHz: [
    { what: "MHz", convert: times(0.001) },
    { what: "Hz", convert: times(1e-9) },
  ],
  kHz: [
    { what: "Hz", convert: times(0.001) },
    { what: "MHz", convert: times(1000) },
  ],
  dBm: [
    { what: "milliwatts", convert: (v) => 10 * Math.log10(v) },
    { what: "watts", convert: (v) => 10 * Math.log10(v) + 30 },
  ],
  m: [
    { what: "feet", convert: times(METRES_PER_FOOT) },
    { what: "centimetres", convert: times(0.01) },
    { what: "millimetres", convert: times(0.001) },
  ],
  kV: [{ what: "volts", convert: times(0.001) }],
  "Mb/s": [{ what: "kb/s", convert: times(0.001) }],
};

/**
 * For a value outside its range: the unit in which it would lie inside, as advice; empty when none fits.
 * @param unit  the field's own unit
 */
export function unitGuess(value: number, unit: string, min: number, max: number): string {
  for (const { what, convert } of GUESSES[unit] ?? []) {
    const v = convert(value);
    if (Number.isFinite(v) && v >= min && v <= max) return `if that is ${what}, write ${roundShort(v)}`;
  }
  return "";
}
