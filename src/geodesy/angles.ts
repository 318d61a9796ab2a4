import { HardstandError } from "../errors/index.ts";

export type Axis = "lat" | "lng";

/** One coordinate as it was written: up to three numbers (degrees, minutes, seconds) and perhaps a letter. */
export interface Group {
  parts: string[];
  letter: "N" | "S" | "E" | "W" | null;
  axis: Axis | null;
}

export const unreadable = (message: string, received: string, hint: string): HardstandError =>
  new HardstandError("geodesy.coordinate-unreadable", message, { where: "coordinate", received, hint });

const EXAMPLES = "as in 41.2417N 96.0533W, 41°14.5'N 96°03.2'W, 14T NM 41830 09710 or 14T 541830 4609710";

const WORDS: [RegExp, string][] = [
  [/[−–—]/g, "-"],
  [/[º˚]/g, "°"],
  [/[″“”]|''|’’|′′/g, '"'],
  [/[′’‘`´]/g, "'"],
  [/\b(?:degrees?|deg)\b\.?/gi, "°"],
  [/\b(?:minutes?|min)\b\.?/gi, "'"],
  [/\b(?:seconds?|sec)\b\.?/gi, '"'],
  [/\bnorth\b/gi, "N"],
  [/\bsouth\b/gi, "S"],
  [/\beast\b/gi, "E"],
  [/\bwest\b/gi, "W"],
  [/\b(?:latitude|lat)\b\.?\s*[:=]?/gi, " φ "],
  [/\b(?:longitude|long|lng|lon)\b\.?\s*[:=]?/gi, " λ "],
];

/** One spelling for signs, marks and words, so that the reading rules stay few. */
export function normalise(text: string): string {
  let out = text.replace(/\u00a0/g, " ").trim();
  for (const [pattern, to] of WORDS) out = out.replace(pattern, to);
  // A decimal comma is one only where something else parts the pair, as in 41,24; -96,05.
  if (out.includes(";") && /\d,\d/.test(out)) out = out.replace(/(\d),(\d)/g, "$1.$2");
  // Rescue services write 41-14.500N 96-03.200W; without letters a dash may be a minus and stays.
  if (/[NSEW]/i.test(out)) out = out.replace(/(\d)-(\d)/g, "$1 $2");
  return out;
}

const TOKEN = /([+-]?\d+(?:\.\d*)?|[+-]?\.\d+)|([NSEWnsew])(?![A-Za-z])|([φλ])|([°'"])|([,;/|])|\s+|(.)/gy;

interface Token {
  kind: "number" | "letter" | "axis" | "mark" | "comma";
  text: string;
}

function tokens(text: string): Token[] {
  const out: Token[] = [];
  for (const m of text.matchAll(TOKEN)) {
    if (m[1] !== undefined) out.push({ kind: "number", text: m[1] });
    else if (m[2] !== undefined) out.push({ kind: "letter", text: m[2].toUpperCase() });
    else if (m[3] !== undefined) out.push({ kind: "axis", text: m[3] });
    else if (m[4] !== undefined) out.push({ kind: "mark", text: m[4] });
    else if (m[5] !== undefined) out.push({ kind: "comma", text: m[5] });
    else if (m[6] !== undefined) throw unreadable(`"${m[6]}" is not part of a coordinate`, text, EXAMPLES);
  }
  return out;
}

const empty = (): Group => ({ parts: [], letter: null, axis: null });

function splitByLetters(list: Token[]): Group[] {
  // Letters lead when nothing stands before the first one, as in N 41 14.5 W 96 03.2; else they close their group.
  const lead = list[0]!.kind === "letter";
  const groups: Group[] = [];
  let current = empty();
  for (const t of list) {
    if (t.kind === "number") current.parts.push(t.text);
    else if (t.kind === "letter") {
      if (lead && current.letter !== null) {
        groups.push(current);
        current = empty();
      }
      current.letter = t.text as Group["letter"];
      if (!lead) {
        groups.push(current);
        current = empty();
      }
    }
  }
  if (current.parts.length > 0 || current.letter !== null) groups.push(current);
  for (const g of groups) if (g.letter !== null) g.axis = g.letter === "N" || g.letter === "S" ? "lat" : "lng";
  return groups;
}

function splitByAxis(list: Token[]): Group[] {
  const groups: Group[] = [];
  for (const t of list) {
    if (t.kind === "axis") groups.push({ ...empty(), axis: t.text === "φ" ? "lat" : "lng" });
    else if (t.kind === "number") groups.at(-1)?.parts.push(t.text);
    else if (t.kind === "letter" && groups.length > 0) groups.at(-1)!.letter = t.text as Group["letter"];
  }
  return groups;
}

function splitPlain(list: Token[]): Group[] {
  const numbers = list.filter((t) => t.kind === "number");
  const commas = list.filter((t) => t.kind === "comma").length;
  const degrees = list.filter((t) => t.kind === "mark" && t.text === "°").length;
  const groups: Group[] = [empty()];
  for (const [i, t] of list.entries()) {
    const startsDegrees = t.kind === "number" && list[i + 1]?.text === "°";
    const breakHere = commas === 1 ? t.kind === "comma" : degrees === 2 && startsDegrees;
    if (breakHere && groups.at(-1)!.parts.length > 0) groups.push(empty());
    if (t.kind === "number") groups.at(-1)!.parts.push(t.text);
  }
  if (groups.length === 1 && numbers.length % 2 === 0) {
    const all = groups[0]!.parts;
    return [
      { ...empty(), parts: all.slice(0, all.length / 2) },
      { ...empty(), parts: all.slice(all.length / 2) },
    ];
  }
  return groups;
}

/** Splits a text into its two coordinates; throws geodesy.coordinate-unreadable when there are not two. */
export function splitGroups(text: string): [Group, Group] {
  const list = tokens(text);
  const has = (kind: Token["kind"]) => list.some((t) => t.kind === kind);
  if (!has("number")) throw unreadable("there are no numbers in it", text, EXAMPLES);
  const groups = has("axis") ? splitByAxis(list) : has("letter") ? splitByLetters(list) : splitPlain(list);
  if (groups.length !== 2 || groups.some((g) => g.parts.length < 1 || g.parts.length > 3))
    throw unreadable("it does not split into a latitude and a longitude", text, EXAMPLES);
  return groups as [Group, Group];
}
