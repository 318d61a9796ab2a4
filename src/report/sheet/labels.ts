import type { Meter } from "./block.ts";
import type { Box, Item, Pt } from "./draw.ts";
import { MM_PER_PT, SMALL_PT, text } from "./draw.ts";

/** Places labels beside their signs so that none covers another or leaves the map; one without room is left out and told. */
export class Labels {
  readonly items: Item[] = [];
  readonly left: string[] = [];
  private readonly taken: Box[] = [];

  constructor(
    private readonly frame: Box,
    private readonly meter: Meter,
  ) {}

  take(box: Box): void {
    this.taken.push(box);
  }

  private free(b: Box): boolean {
    const f = this.frame;
    if (b.x < f.x + 0.4 || b.y < f.y + 0.4 || b.x + b.w > f.x + f.w - 0.4 || b.y + b.h > f.y + f.h - 0.4) return false;
    return !this.taken.some((t) => b.x < t.x + t.w && t.x < b.x + b.w && b.y < t.y + t.h && t.y < b.y + b.h);
  }

  /** A label near a sign of the given half size; true when it found room. */
  put(at: Pt, words: string, half: number, bold = true): boolean {
    const w = this.meter(words, SMALL_PT, bold) + 0.4;
    const h = SMALL_PT * MM_PER_PT * 0.92;
    const [x, y] = at;
    const g = half + 0.5;
    const tries: [number, number][] = [
      [x + g, y - h / 2],
      [x - g - w, y - h / 2],
      [x - w / 2, y - g - h],
      [x - w / 2, y + g],
      [x + g * 0.8, y - g - h * 0.7],
      [x - g * 0.8 - w, y - g - h * 0.7],
      [x + g * 0.8, y + g - h * 0.3],
      [x - g * 0.8 - w, y + g - h * 0.3],
      [x + g + 2, y - h * 1.6],
      [x - g - w - 2, y - h * 1.6],
    ];
    for (const [bx, by] of tries) {
      const box = { x: bx, y: by, w, h };
      if (!this.free(box)) continue;
      this.take(box);
      this.items.push(text([bx + 0.2, by + h * 0.84], words, { bold, haloMm: 0.8 }));
      return true;
    }
    this.left.push(words);
    return false;
  }
}
