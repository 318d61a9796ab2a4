import type { SkyAnswer, Spot } from "../../plan/outputs/types.ts";
import { type Block, heading, paragraph, stack } from "./block.ts";
import { type Item, MM_PER_PT, moved } from "./draw.ts";
import { type Norths, northsFigure, northsText } from "./norths.ts";
import { type Names, pointingCard } from "./pointing.ts";
import { siteMap } from "./site-map.ts";
import { siteSketch, sketchCaption } from "./sketch.ts";
import type { SheetInput } from "./spot-parts.ts";

const LEAST_MAP_MM = 54;
const LEAST_SKETCH_MM = 28;
const LEAST_STRIP_MM = 23;

export interface TopRow {
  /** Height below which something would not find room. */
  leastMm: number;
  draw(h: number): Item[];
}

const NORTHS_W = 14.5;
const NORTHS_H = 16;

/** Map, sketch with the three norths, pointing card: side by side. */
export function topRow(
  input: SheetInput,
  spot: Spot,
  sky: SkyAnswer | null,
  names: Names,
  norths: Norths,
  model: string,
  w: number,
): TopRow {
  const { meter, answer } = input;
  const mapW = Math.round(w * 0.43);
  const sketchW = Math.round(w * 0.225);
  const cardW = w - mapW - sketchW - 7;
  const sketchX = mapW + 3.5;
  const cardX = sketchX + sketchW + 3.5;
  const small = { sizePt: 8 };
  const spots = answer.spots.filter((s) => s.role !== "none" || s.id === spot.id);
  const northWords = paragraph(northsText(norths, model), sketchW - NORTHS_W - 1, meter, small);
  const northsH = Math.max(NORTHS_H, northWords.h);
  const card = (stripH: number): Block =>
    stack([heading("Point the dish", cardW, meter), pointingCard(spot, sky, names, cardW, stripH, meter)]);
  const cardH = card(0).h;
  const captionH = paragraph(sketchCaption(99.9, 10_000), sketchW, meter, small).h;
  return {
    leastMm: Math.max(LEAST_MAP_MM, cardH + (sky ? LEAST_STRIP_MM : 0), LEAST_SKETCH_MM + captionH + northsH + 2.4),
    draw(h) {
      const under = (mapH: number) => {
        const map = siteMap({ x: 0, y: 0, w: mapW, h: mapH }, input, spot, spots);
        return { map, words: paragraph(map.caption, mapW, meter, small) };
      };
      // The line under the map says what is on it, so its height is known only afterwards: once more where it is taller.
      const LINES_MM = 4 * 8 * 1.26 * MM_PER_PT;
      let mapH = h - LINES_MM - 0.8;
      let drawn = under(mapH);
      if (drawn.words.h > LINES_MM + 0.01) {
        mapH = h - drawn.words.h - 0.8;
        drawn = under(mapH);
      }
      const sketchH = h - captionH - northsH - 2.4;
      const sketch = siteSketch({ x: sketchX, y: 0, w: sketchW, h: sketchH }, input, spot);
      const words = paragraph(sketch.caption, sketchW, meter, small);
      const northY = h - northsH;
      const strip = Math.min(52, h - cardH - 0.5);
      return [
        ...drawn.map.items,
        ...moved(drawn.words.items, 0, mapH + 0.8),
        ...sketch.items,
        ...moved(words.items, sketchX, sketchH + 0.8),
        ...moved(northsFigure(norths, NORTHS_W, NORTHS_H), sketchX, northY),
        ...moved(northWords.items, sketchX + NORTHS_W + 1, northY),
        ...moved(card(strip).items, cardX, 0),
      ];
    },
  };
}
