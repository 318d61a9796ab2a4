import type { Map as GlMap } from "maplibre-gl";
import { symbolMarkup } from "../ui/icon.tsx";
import type { MapColors } from "./colors.ts";

/** Drawings of the map: symbols from the page's sprite, slabs with a rank, hatches. All at twice the size. */
const SCALE = 2;
const canvas = (w: number, h: number): CanvasRenderingContext2D => {
  const el = document.createElement("canvas");
  el.width = w * SCALE;
  el.height = h * SCALE;
  const c = el.getContext("2d", { willReadFrequently: true })!;
  c.scale(SCALE, SCALE);
  return c;
};
const put = (map: GlMap, id: string, c: CanvasRenderingContext2D): void => {
  const data = c.getImageData(0, 0, c.canvas.width, c.canvas.height);
  if (map.hasImage(id)) map.updateImage(id, data);
  else map.addImage(id, data, { pixelRatio: SCALE });
};

async function symbolImage(id: string, color: string, halo: string, size: number): Promise<CanvasRenderingContext2D> {
  const found = symbolMarkup(id);
  const c = canvas(size, size);
  if (found === null) return c;
  const inner = found.inner
    .replaceAll("currentColor", color)
    .replace(/var\(--halo,[^)]*\)/g, halo)
    .replace(/var\(--[a-z-]+,([^)]*)\)/g, "$1");
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${found.viewBox}" width="${size * SCALE}" height="${size * SCALE}">${inner}</svg>`;
  const image = new Image();
  image.src = `data:image/svg+xml,${encodeURIComponent(svg)}`;
  await image.decode();
  c.drawImage(image, 0, 0, size, size);
  return c;
}

export interface SymbolSpec {
  id: string;
  symbol: string;
  color: (c: MapColors) => string;
  size: number;
}
export const SYMBOLS: SymbolSpec[] = [
  { id: "pt-must", symbol: "hs-point-must", color: (c) => c.point, size: 18 },
  { id: "pt-should", symbol: "hs-point-should", color: (c) => c.point, size: 18 },
  { id: "pt-nice", symbol: "hs-point-nice", color: (c) => c.point, size: 18 },
  { id: "hz-crowd", symbol: "hs-crowd", color: (c) => c.hazard, size: 18 },
  { id: "hz-opening", symbol: "hs-opening", color: (c) => c.hazard, size: 18 },
  { id: "hz-keep-out", symbol: "hs-keep-out", color: (c) => c.hazard, size: 18 },
  { id: "hz-obstacle", symbol: "hs-caution", color: (c) => c.hazard, size: 16 },
  { id: "hz-water", symbol: "hs-water", color: (c) => c.water, size: 18 },
  { id: "drop", symbol: "hs-drop", color: (c) => c.backhaul, size: 18 },
  { id: "donor", symbol: "hs-donor", color: (c) => c.backhaul, size: 20 },
];

/** The ranked spot: slab on a mast on a level bar; the bar is the ground position. */
export type SlabState = "selected" | "full" | "open" | "trial";
export function drawSlab(map: GlMap, id: string, text: string, state: SlabState, k: MapColors): void {
  const big = state === "selected" || state === "trial";
  const s = big ? 24 : 21;
  const cut = 5;
  const w = s + 6;
  const mast = 11;
  const h = s + mast + 6;
  const c = canvas(w, h);
  const x = 3;
  const y = 3;
  const slab = (grow: number): void => {
    c.beginPath();
    c.moveTo(x - grow, y - grow);
    c.lineTo(x + s - cut + grow * 0.4, y - grow);
    c.lineTo(x + s + grow, y + cut - grow * 0.4);
    c.lineTo(x + s + grow, y + s + grow);
    c.lineTo(x - grow, y + s + grow);
    c.closePath();
  };
  const foot = y + s + mast;
  c.lineCap = "square";
  c.strokeStyle = k.halo;
  c.lineWidth = 5;
  c.beginPath();
  c.moveTo(x + s / 2, y + s);
  c.lineTo(x + s / 2, foot);
  c.moveTo(x + s / 2 - 5, foot);
  c.lineTo(x + s / 2 + 5, foot);
  c.stroke();
  slab(1.5);
  c.fillStyle = k.halo;
  c.fill();
  const edge = state === "selected" ? k.mark : k.unit;
  c.strokeStyle = k.unit;
  c.lineWidth = 2;
  c.beginPath();
  c.moveTo(x + s / 2, y + s);
  c.lineTo(x + s / 2, foot - 1);
  c.stroke();
  c.strokeStyle = k.mark;
  c.lineWidth = 2.6;
  c.beginPath();
  c.moveTo(x + s / 2 - 5, foot);
  c.lineTo(x + s / 2 + 5, foot);
  c.stroke();
  slab(0);
  c.fillStyle = state === "selected" ? k.mark : state === "full" ? k.unit : k.surface;
  c.fill();
  c.strokeStyle = state === "selected" ? k.unit : edge;
  c.lineWidth = state === "open" || state === "trial" ? 2 : 1.4;
  if (state === "trial") c.setLineDash([3, 2]);
  slab(-0.8);
  c.stroke();
  c.setLineDash([]);
  c.fillStyle = state === "selected" || state === "full" ? k.surface : k.ink;
  c.font = `700 ${text.length > 2 ? 10 : big ? 14 : 13}px "Atkinson Hyperlegible Next Variable", sans-serif`;
  c.textAlign = "center";
  c.textBaseline = "middle";
  c.fillText(text, x + s / 2, y + s / 2 + 1);
  put(map, id, c);
}

function hatch(color: string, side: number, width: number, both: boolean): CanvasRenderingContext2D {
  const c = canvas(side, side);
  c.strokeStyle = color;
  c.lineWidth = width;
  const line = (x0: number, y0: number, x1: number, y1: number): void => {
    c.beginPath();
    c.moveTo(x0, y0);
    c.lineTo(x1, y1);
    c.stroke();
  };
  line(-2, side + 2, side + 2, -2);
  line(-2, 2, 2, -2);
  line(side - 2, side + 2, side + 2, side - 2);
  if (both) {
    line(-2, -2, side + 2, side + 2);
    line(side - 2, -2, side + 2, 2);
    line(-2, side - 2, 2, side + 2);
  }
  return c;
}

export async function addImages(map: GlMap, k: MapColors): Promise<void> {
  const halo = k.halo;
  await Promise.all(SYMBOLS.map(async (s) => put(map, s.id, await symbolImage(s.symbol, s.color(k), halo, s.size))));
  put(map, "hatch-hazard", hatch(k.hazard, 9, 1, false));
  const none = hatch(`${k.contour}88`, 12, 0.6, false);
  none.globalCompositeOperation = "destination-over";
  none.fillStyle = k.land;
  none.fillRect(0, 0, 12, 12);
  put(map, "hatch-none", none);
  const tick = canvas(14, 14);
  tick.strokeStyle = k.halo;
  tick.lineWidth = 4;
  tick.beginPath();
  tick.moveTo(7, 0.5);
  tick.lineTo(7, 13.5);
  tick.stroke();
  tick.strokeStyle = k.hazard;
  tick.lineWidth = 1.8;
  tick.beginPath();
  tick.moveTo(7, 1);
  tick.lineTo(7, 13);
  tick.stroke();
  put(map, "tick", tick);
  const slash = canvas(22, 22);
  for (const [color, w] of [
    [k.halo, 6],
    [k.nogo, 2.6],
  ] as const) {
    slash.strokeStyle = color;
    slash.lineWidth = w;
    slash.beginPath();
    slash.moveTo(3, 19);
    slash.lineTo(19, 3);
    slash.stroke();
  }
  put(map, "short", slash);
}
