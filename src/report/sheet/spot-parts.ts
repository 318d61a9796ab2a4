import { declination, geodesicInverse } from "../../geodesy/index.ts";
import type { RankAnswer, SkyAnswer, Spot } from "../../plan/outputs/types.ts";
import type { LoadedPlan } from "../../plan/types.ts";
import type { Scene } from "../../terrain/scene.ts";
import { wrap360 } from "../../units/index.ts";
import {
  type Block,
  blank,
  fitText,
  gap,
  heading,
  type MarkKind,
  type Meter,
  mark,
  paragraph,
  type Run,
  stack,
  table,
} from "./block.ts";
import { type Box, type Item, line, type Pt, polygon, rect, slab, text } from "./draw.ts";
import {
  bearing,
  checkName,
  checkNumbers,
  decimalDegrees,
  degreesMinutes,
  distance,
  num,
  ofDraws,
  percent,
  sentenceCase,
  served,
  signed,
} from "./format.ts";
import { usngConvergenceDeg } from "./map-frame.ts";
import type { Norths } from "./norths.ts";
import { chosenView, type Names } from "./pointing.ts";

export interface SheetInput {
  loaded: LoadedPlan;
  scene: Scene;
  answer: RankAnswer;
  /** Sky of a spot by its id; a spot without one gets its figures but no horizon strip. */
  sky?: ReadonlyMap<string, SkyAnswer>;
  paper: "a4" | "letter";
  meter: Meter;
}

/** Names of everything checks and satellites refer to by id. */
export function namesOf(loaded: LoadedPlan): Names {
  const names = new Map<string, string>();
  for (const c of [loaded.hazards, loaded.parking, loaded.drops, loaded.donors, loaded.points])
    for (const f of c.features) if (f.properties.id && f.properties.name) names.set(f.properties.id, f.properties.name);
  for (const v of loaded.plan.satellites ?? []) if (v.name) names.set(v.id, v.name);
  return names;
}

/** Satellites by their names, where an answer's text has their ids. */
export function withNames(words: string, loaded: LoadedPlan): string {
  let out = words;
  for (const v of loaded.plan.satellites ?? [])
    if (v.name) out = out.replace(new RegExp(`(?<![\\w.-])${v.id.replaceAll(".", "\\.")}(?![\\w-])`, "g"), v.name);
  return out;
}

const CONSENTS = [
  ["landowner", "Landowner"],
  ["fire", "Fire"],
  ["utility", "Utility"],
  ["licensee", "Band licensee"],
  ["satellite-operator", "Satellite operator"],
] as const;

/** Every consent that is needed, with its state in the plan. */
export function consentsOf(loaded: LoadedPlan): { who: string; name: string; state: string; conditions: string }[] {
  const given = loaded.plan.consents ?? [];
  const rows = CONSENTS.flatMap(([who, label]) => {
    const found = given.filter((c) => c.who === who);
    if (found.length === 0) return [{ who: label, name: "", state: "no record", conditions: "" }];
    return found.map((c) => ({ who: label, name: c.name ?? "", state: c.state, conditions: c.conditions ?? "" }));
  });
  const others = given
    .filter((c) => c.who === "other")
    .map((c) => ({ who: c.name ?? "Other", name: "", state: c.state as string, conditions: c.conditions ?? "" }));
  return [...rows, ...others];
}

/** Declination and grid convergence at a spot for the answer's date. */
export function northsAt(spot: Spot, answer: RankAnswer): { norths: Norths; model: string } {
  const d = declination(spot, (spot.groundAmslM ?? 0) / 1000, new Date(`${answer.provenance.date}T12:00:00Z`));
  // What the satellites' compass azimuths were made with is what the page says.
  const view = spot.satellites[0];
  const declinationDeg = view ? ((view.azimuthDeg - view.azimuthMagneticDeg + 540) % 360) - 180 : d.declinationDeg;
  return { norths: { declinationDeg, gridDeg: usngConvergenceDeg(spot) }, model: d.model };
}

/** The head of a page: mark, title, what it belongs to, sheet number. */
export function pageHead(w: number, title: string, under: string, right: readonly string[], meter: Meter): Block {
  const side = 9;
  const items: Item[] = [
    polygon([slab({ x: 0, y: 0, w: side, h: side }, 2)], 0, null),
    polygon(
      [
        [
          [2, 1.3],
          [3.4, 1.3],
          [3.4, 3.7],
          [5.7, 3.7],
          [7, 5],
          [7, 6.75],
          [5.6, 6.75],
          [5.6, 5.6],
          [5.1, 5.1],
          [3.4, 5.1],
          [3.4, 6.75],
          [2, 6.75],
        ],
      ],
      1,
      null,
    ),
    rect({ x: 1.2, y: 7.4, w: 6.6, h: 0.75 }, 1, null),
    text([side + 2.4, 4.2], fitText(title, w - side - 30, 14, true, meter), { sizePt: 14, bold: true }),
  ];
  const sub = paragraph(under, w - side - 28, meter, { sizePt: 8.5 });
  for (const i of sub.items) if (i.kind === "text") items.push({ ...i, at: [i.at[0] + side + 2.4, i.at[1] + 5.2] });
  for (const [i, words] of right.entries()) items.push(text([w, 3.2 + i * 3.8], words, { anchor: "end" }));
  const h = Math.max(10, 5.2 + sub.h + 0.6);
  items.push(line([[0, h] as Pt, [w, h]], 0.5));
  return { w, h: h + 0.8, items };
}

export function where(spot: Spot, norths: Norths, w: number): Block {
  const heading =
    spot.headingDeg === null
      ? "not fixed"
      : `${bearing(spot.headingDeg - norths.declinationDeg).replace(".0°", "°")} compass`;
  const cells: [string, string, number][] = [
    ["USNG (land teams)", spot.usng, 0.21],
    ["Degrees and minutes", degreesMinutes(spot), 0.235],
    ["Decimal: latitude, longitude", decimalDegrees(spot), 0.215],
    ["Ground, AMSL", spot.groundAmslM === null ? "unknown" : `${num(spot.groundAmslM, 1)} m`, 0.125],
    [
      spot.headingDeg === null ? "Park facing" : `Park facing (${bearing(spot.headingDeg).replace(".0°", "°")} true)`,
      heading,
      0.215,
    ],
  ];
  const items: Item[] = [];
  let x = 0;
  for (const [i, [label, value, share]] of cells.entries()) {
    if (i > 0)
      items.push(
        line(
          [
            [x - 1.4, 0],
            [x - 1.4, 9],
          ] as Pt[],
          0.2,
        ),
      );
    items.push(text([x, 3.2], label), text([x, 7.6], value, { sizePt: 10, bold: true }));
    x += w * share;
  }
  items.push(
    line(
      [
        [0, 9.2],
        [w, 9.2],
      ] as Pt[],
      0.25,
    ),
  );
  return { w, h: 10.4, items };
}

const STATE: Record<string, { mark: MarkKind; word: string }> = {
  pass: { mark: "pass", word: "pass" },
  caution: { mark: "caution", word: "caution" },
  fail: { mark: "fail", word: "no-go" },
  unknown: { mark: "unknown", word: "unknown" },
};

export function checksTable(spot: Spot, names: Names, w: number, meter: Meter): Block[] {
  const numbered = spot.checks.filter((c) => c.value !== null || c.status !== "pass");
  const plain = spot.checks.filter((c) => !numbered.includes(c) && c.id !== "backhaul");
  const rows = numbered.map((c) => {
    const { found, needs } = checkNumbers(c);
    const state = STATE[c.status]!;
    return [checkName(c.id, names), { text: found || "–", bold: true }, needs, { mark: state.mark }, state.word];
  });
  const cols = [
    { title: "Check", w: w - 46.3 },
    { title: "Found", w: 13.6, align: "end" as const },
    { title: "Needs", w: 16.8, align: "end" as const },
    { title: "", w: 3.4 },
    { title: "", w: 12.5 },
  ];
  const blocks = [heading("Stand and sky", w, meter), ...table(cols, rows, meter)];
  if (plain.length > 0)
    blocks.push(
      gap(0.6),
      paragraph(
        `Also pass, without a number: ${plain.map((c) => checkName(c.id, names).toLowerCase()).join(", ")}.`,
        w,
        meter,
        { sizePt: 8 },
      ),
    );
  return blocks;
}

/** Rows of the points table, worst margin of each need given as predicted. */
export function pointsTable(spot: Spot, w: number, meter: Meter): Block[] {
  const rows = spot.points.map((p) => [
    { mark: (p.met === null ? "unknown" : p.met ? "pass" : "short") as MarkKind },
    { text: p.code ? `${p.code} ${p.name}` : p.name, bold: p.met === false },
    p.rung,
    p.need,
    { text: served(p), bold: p.met === false },
    percent(p.target),
    signed(p.marginDb, 1),
    p.limitingDirection === null ? "unknown" : p.limitingDirection,
  ]);
  const widths = [3.4, 0, 10.8, 15.2, 16.2, 10.6, 12.6, 14.2];
  widths[1] = w - widths.reduce((a, b) => a + b, 0);
  const titles = ["", "Point", "Rank", "Need", "Chance", "Target", "Margin", "Gives out"];
  return [
    heading("Points", w, meter, "margin in dB (areas: median tile); gives out: which direction ends first"),
    ...table(
      titles.map((title, i) => ({
        title,
        w: widths[i]!,
        ...(i >= 4 && i <= 6 ? { align: "end" as const } : {}),
      })),
      rows,
      meter,
    ),
  ];
}

export function backhaulBlock(spot: Spot, loaded: LoadedPlan, w: number, meter: Meter): Block {
  const runs: Run[] = [];
  for (const [i, b] of spot.backhaul.entries()) {
    const word = b.status === "pass" ? "" : b.status === "fail" ? " (not here)" : " (unknown)";
    runs.push(
      { text: `${i + 1} ${sentenceCase(b.kind)}${word}: `, bold: b.status === "pass" },
      { text: `${withNames(b.text, loaded)} ` },
    );
  }
  if (runs.length === 0) runs.push({ text: "No way back to the network is in the plan." });
  return stack([heading("Way back, in order", w, meter), paragraph(runs, w, meter, { sizePt: 8 })]);
}

export function alsoLooked(spot: Spot, answer: RankAnswer, w: number, meter: Meter): Block {
  const runs: Run[] = [];
  for (const s of answer.spots.filter((o) => o.id !== spot.id).slice(0, 3)) {
    const short = [...new Set(s.points.filter((p) => p.met === false).map((p) => p.name))];
    const fails = s.checks.filter((c) => c.status === "fail" && c.id !== "backhaul").map((c) => c.text);
    runs.push(
      { text: `${s.rank} ${s.name} `, bold: true },
      {
        text: `${num(s.score, 1)}${short.length > 0 ? `, short at ${short.join(", ")}` : ""}. ${fails.length > 0 ? `${fails.join(" ")} ` : ""}`,
      },
    );
  }
  const ground = answer.rejected.filter((r) => r.hectares >= 0.005);
  if (ground.length > 0)
    runs.push({
      text: `Struck out: ${ground.map((r) => `${num(r.hectares, 2)} ha ${r.reason}`).join(", ")}. `,
    });
  if (answer.spots.length > 4) runs.push({ text: `All ${answer.spots.length} spots are on the summary.` });
  if (runs.length === 0) runs.push({ text: "No other spot was found." });
  return stack([heading("Also looked at", w, meter), paragraph(runs, w, meter, { sizePt: 8 })]);
}

/** Hazards of this spot first, then what always holds, in a box that is seen first. */
export function cautionBox(spot: Spot, answer: RankAnswer, loaded: LoadedPlan, w: number, meter: Meter): Block {
  const tip = loaded.plan.unit.tipHeightM;
  const runs: Run[] = [{ text: "Before you raise the mast: look up and live. ", bold: true }];
  // The nearest lines are named here; all of them stand in the table.
  const lines = spot.checks
    .filter((k) => k.id.startsWith("power-line") && k.limit !== null)
    .sort((a, b) => (a.value ?? 0) - a.limit! - (b.value ?? 0) + b.limit!)
    .slice(0, 3);
  for (const c of lines)
    runs.push({
      text: `Keep the mast ${checkNumbers(c).needs.replace(/^min\s/, "")} or more, measured flat, from ${namesOf(loaded).get(c.id.slice(11)) ?? "the power line"}. `,
    });
  for (const c of spot.checks.filter((k) => k.status !== "pass" && !k.id.startsWith("dish") && k.id !== "backhaul"))
    runs.push({ text: `${withNames(c.text, loaded)} `, bold: true });
  runs.push({
    text: `Tip at ${num(tip, 1)} m. Lower the mast at 40 mph (64 km/h) gusts, or at the mast maker’s figure where that is less (common practice, no source). `,
  });
  for (const c of answer.cautions) runs.push({ text: `${c} ` });
  const inner = paragraph(runs, w - 5, meter, { sizePt: 8 });
  const box: Box = { x: 0, y: 0, w, h: inner.h + 3.4 };
  return {
    w,
    h: box.h,
    items: [
      rect(box, null, { gray: 0, widthMm: 0.5 }),
      ...inner.items.map((i) => (i.kind === "text" ? { ...i, at: [i.at[0] + 2.5, i.at[1] + 1.6] as Pt } : i)),
    ],
  };
}

export function arrival(spot: Spot, answer: RankAnswer, loaded: LoadedPlan, w: number, meter: Meter): Block {
  const v = chosenView(spot);
  const slope = loaded.plan.unit.cautionSlopeDeg ?? spot.checks.find((c) => c.id === "slope")?.limit;
  const must = spot.points.find((p) => p.rung === "must");
  const steps = [
    `Level${slope == null ? "" : `, at most ${num(slope, 0)}°`}`,
    "Nothing overhead",
    v ? `Sky clear at ${bearing(v.azimuthMagneticDeg)} compass, ${num(v.elevationDeg, 1)}° up` : "Sky clear",
    fitText(`Signal at ${must?.code || must?.name || "the first must"}`, 40, 8.5, false, meter),
  ];
  const items: Item[] = [];
  const widths = steps.map((s) => meter(s, 8.5, false) + 4.4);
  const spare = Math.max(2, (w - widths.reduce((a, b) => a + b, 0)) / (steps.length - 1));
  let x = 0;
  for (const [i, s] of steps.entries()) {
    items.push(...mark("box", x, 0.4, 3), text([x + 4.2, 3], s, { sizePt: 8.5 }));
    x += widths[i]! + spare;
  }
  const next = nextSpot(spot, answer);
  return stack([
    heading(
      "On arrival, before unhitching",
      w,
      meter,
      "ten minutes; if one does not hold: shift a few metres, else " +
        (next ? `go to spot ${next.rank}` : "ask the planner"),
    ),
    { w, h: 4.6, items },
  ]);
}

const ROLE_ORDER = ["primary", "alternate", "contingency", "emergency"] as const;

export function nextSpot(spot: Spot, answer: RankAnswer): Spot | null {
  const i = ROLE_ORDER.indexOf(spot.role as (typeof ROLE_ORDER)[number]);
  const wanted = i < 0 ? ROLE_ORDER[0] : ROLE_ORDER[i + 1];
  return answer.spots.find((s) => s.role === wanted && s.id !== spot.id) ?? null;
}

export function asBuilt(spot: Spot, loaded: LoadedPlan, w: number, blankMm: number, meter: Meter): Block {
  const must = spot.points.find((p) => p.rung === "must");
  const row = (labels: readonly string[]): Block => {
    const cell = w / labels.length;
    const items = labels.flatMap((l, i) =>
      blank(l, cell, meter, blankMm).items.map((item): Item => {
        if (item.kind === "text") return { ...item, at: [item.at[0] + i * cell, item.at[1]] };
        if (item.kind === "path")
          return { ...item, lines: item.lines.map((q) => q.map(([a, b]): Pt => [a + i * cell, b])) };
        return item;
      }),
    );
    return { w, h: blankMm, items };
  };
  const consents = consentsOf(loaded);
  const consentRows: string[][] = [];
  for (let i = 0; i < consents.length; i += 5)
    consentRows.push(consents.slice(i, i + 5).map((c) => `${c.who}: ${c.state}`));
  return stack([
    row([
      "As built: position",
      "Heading, compass",
      "Level, °",
      "Dish azimuth, tilt",
      `Signal at ${must?.code || must?.name || "must"}, dBm`,
    ]),
    ...consentRows.map(row),
    row(["Set up by", "Signed, time", "Approved by", "Signed, time"]),
  ]);
}

/** What a plan without a canopy layer knows of trees. */
export const noCanopy = (loaded: LoadedPlan): string =>
  (loaded.plan.terrain.surface?.length ?? 0) > 0
    ? "No canopy layer: trees count as solid where the surface shows them."
    : "Trees are not in it.";

export function dataWords(input: SheetInput): string {
  const { loaded, scene, answer } = input;
  const { terrain } = loaded.plan;
  const dates = (["ground", "surface", "canopy"] as const)
    .filter((k) => (terrain[k]?.length ?? 0) > 0)
    .map((k) => {
      const all = new Set(terrain[k]!.map((e) => (typeof e === "string" ? null : (e.date ?? null))));
      return `${k} ${[...all].map((d) => d ?? "of unknown date").join(", ")}`;
    });
  const models = [...new Set(answer.spots.flatMap((s) => s.points.map((p) => p.model)))];
  const editions = models.map((m) => answer.provenance.models.find((k) => k.id === m)?.edition ?? m);
  const planHash = Object.entries(answer.provenance.files).find(([name]) => name.endsWith(".plan.json"))?.[1];
  return [
    `Data: ${dates.join("; ")}; cells of ${num(scene.grid.cellM, 1)} m.`,
    scene.hasSurface ? "" : "Bare earth only: trees and buildings are not in it.",
    scene.canopyM || !scene.hasSurface ? "" : noCanopy(loaded),
    scene.groundEstimated ? "Ground is estimated from a surface." : "",
    `${sentenceCase(loaded.plan.season ?? "leaf-on")}.`,
    `Models: ${[...new Set(editions)].join(", ")}.`,
    `${planHash ? `Plan ${planHash.slice(0, 12)}…, ` : ""}seed ${answer.provenance.seed}, Hardstand ${answer.provenance.version}. Hashes in full on the summary.`,
  ]
    .filter((s) => s !== "")
    .join(" ");
}

export function stabilityWords(spot: Spot): Run[] {
  if (spot.stabilityPct === null) return [{ text: "How firm the order is was not tried." }];
  const three = spot.topThreePct == null ? "" : `, in the first three in ${ofDraws(spot.topThreePct)}`;
  return [
    { text: "Stability: ", bold: true },
    { text: `first in ${ofDraws(spot.stabilityPct)} of draws of the model’s error${three}.` },
  ];
}

/** Where the next spot in the order is from here. */
export function nextWords(spot: Spot, next: Spot, norths: Norths): string {
  const way = geodesicInverse(spot, next);
  return `${sentenceCase(next.role)}: spot ${next.rank}, ${next.name}, ${distance(way.distanceM)} at ${num(wrap360(way.azimuthDeg - norths.declinationDeg), 0)}° compass.`;
}
