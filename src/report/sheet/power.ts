import type { LoadedPlan } from "../../plan/types.ts";
import { type Block, heading, type Meter, paragraph, stack } from "./block.ts";
import { type Item, line, type Pt, rect, text } from "./draw.ts";
import { num } from "./format.ts";

/** Hours a full tank lasts; null when the plan does not say. */
export function enduranceH(loaded: LoadedPlan): number | null {
  const { fuelL, burnLPerH } = loaded.plan.unit;
  return fuelL === undefined || burnLPerH === undefined ? null : fuelL / burnLPerH;
}

/** Power and fuel: hours from a full tank with resupply at half of it, as a line of time. */
export function fuelBlock(loaded: LoadedPlan, w: number, meter: Meter): Block {
  const hours = enduranceH(loaded);
  const { fuelL, burnLPerH } = loaded.plan.unit;
  if (hours === null)
    return stack([
      heading("Power and fuel", w, meter),
      paragraph("Tank or fuel use is not in the plan: how long it runs is unknown.", w, meter, { sizePt: 8 }),
    ]);
  // The hour to refuel by is never rounded later.
  const half = Math.floor((hours / 2) * 10 + 1e-9) / 10;
  const end = Math.floor(hours * 10 + 1e-9) / 10;
  const inner = w - 12;
  const x = (h: number): number => 2 + (h / hours) * inner;
  const items: Item[] = [
    rect({ x: x(0), y: 1, w: inner / 2, h: 2.2 }, 0.75, { gray: 0, widthMm: 0.2 }),
    rect({ x: x(hours / 2), y: 1, w: inner / 2, h: 2.2 }, 1, { gray: 0, widthMm: 0.2 }),
    line(
      [
        [x(hours / 2), 0.2],
        [x(hours / 2), 4],
      ] as Pt[],
      0.5,
    ),
    text([x(0), 6.4], "0 h", { anchor: "middle" }),
    text([x(hours / 2), 6.4], `refuel by hour ${num(half, half % 1 === 0 ? 0 : 1)}`, { anchor: "middle", bold: true }),
    text([x(hours), 6.4], `${num(end, end % 1 === 0 ? 0 : 1)} h empty`, { anchor: "end" }),
  ];
  return stack([
    heading("Power and fuel", w, meter),
    { w, h: 7.4, items },
    paragraph(
      `${num(fuelL!, 1)} L at ${num(burnLPerH!, 2)} L/h. Refuel cold, off 15 min, extinguisher near.`,
      w,
      meter,
      { sizePt: 8 },
    ),
  ]);
}

/** The same in one line across a page. */
export function fuelLine(loaded: LoadedPlan, w: number, meter: Meter): Block {
  const hours = enduranceH(loaded);
  const { fuelL, burnLPerH } = loaded.plan.unit;
  const say = (h: number): string => num(Math.floor(h * 10 + 1e-9) / 10, Number.isInteger(h) ? 0 : 1);
  return paragraph(
    [
      { text: "Power and fuel. ", bold: true },
      ...(hours === null
        ? [{ text: "Tank or fuel use is not in the plan: how long it runs is unknown." }]
        : [
            {
              text: `${num(fuelL!, 1)} L at ${num(burnLPerH!, 2)} L/h last ${say(hours)} h: `,
            },
            { text: `refuel by hour ${say(hours / 2)}`, bold: true },
            { text: ", cold, off 15 min, extinguisher near." },
          ]),
    ],
    w,
    meter,
    { sizePt: 8 },
  );
}
