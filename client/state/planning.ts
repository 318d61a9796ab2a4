import { effect, signal } from "@preact/signals";
import type { Geometry } from "geojson";
import type { Drawing, DrawShape } from "../map/draw.ts";
import { mapPort } from "../map/state.ts";
import { addFeature, featuresOf, idOf, type Kind, setGeometry } from "./edit.ts";
import { keyHooks } from "./keys.ts";
import * as view from "./view.ts";

/** The plan stage: which thing has its form open, and which tool is in hand. */
export interface Tool {
  id: string;
  name: string;
  icon: string;
  key: string;
  kind: Kind;
  shape: DrawShape;
  properties: () => Record<string, unknown>;
}
const needs = (): string[] => {
  const first = featuresOf("points")[0]?.properties.needs as string[] | undefined;
  return first ?? ["cell/talk"];
};
const nth = (kind: Kind, word: string): string => `${word} ${featuresOf(kind).length + 1}`;
export const TOOLS: Tool[] = [
  {
    id: "point",
    name: "Point",
    icon: "hs-point-must",
    key: "p",
    kind: "points",
    shape: "point",
    properties: () => ({ name: nth("points", "Point"), rung: "should", needs: needs() }),
  },
  {
    id: "area",
    name: "Area",
    icon: "hs-area",
    key: "a",
    kind: "points",
    shape: "polygon",
    properties: () => ({ name: nth("points", "Area"), rung: "should", needs: needs() }),
  },
  {
    id: "route",
    name: "Route",
    icon: "hs-route",
    key: "r",
    kind: "points",
    shape: "linestring",
    properties: () => ({ name: nth("points", "Route"), rung: "nice", needs: needs() }),
  },
  {
    id: "parking",
    name: "Parking",
    icon: "hs-parking",
    key: "k",
    kind: "parking",
    shape: "polygon",
    properties: () => ({ name: nth("parking", "Parking") }),
  },
  {
    id: "power",
    name: "Power line",
    icon: "hs-power-line",
    key: "h",
    kind: "hazards",
    shape: "linestring",
    properties: () => ({ kind: "power-line", name: nth("hazards", "Power line") }),
  },
  {
    id: "keep-out",
    name: "Keep out",
    icon: "hs-keep-out",
    key: "o",
    kind: "hazards",
    shape: "polygon",
    properties: () => ({ kind: "keep-out", name: nth("hazards", "Keep out") }),
  },
  {
    id: "crowd",
    name: "Crowd",
    icon: "hs-crowd",
    key: "c",
    kind: "hazards",
    shape: "polygon",
    properties: () => ({ kind: "crowd", name: nth("hazards", "Crowd") }),
  },
  {
    id: "drop",
    name: "Drop",
    icon: "hs-drop",
    key: "d",
    kind: "drops",
    shape: "point",
    properties: () => ({ name: nth("drops", "Drop") }),
  },
];
export const tool = signal<string | null>(null);
export const editing = signal<{ kind: Kind; id: string } | null>(null);
let drawing: Drawing | null = null;
let wanted = 0;

async function hand(): Promise<Drawing | null> {
  const port = mapPort.value;
  if (port === null) return null;
  if (drawing === null) {
    const { createDrawing } = await import("../map/draw.ts");
    if (mapPort.value !== port) return null;
    drawing ??= createDrawing(port.inner());
  }
  return drawing;
}
export function pickTool(id: string | null): void {
  const t = TOOLS.find((x) => x.id === id);
  tool.value = t?.id ?? null;
  if (t !== undefined) editing.value = null;
  const mine = ++wanted;
  if (t === undefined) {
    drawing?.stop();
    return;
  }
  void hand().then((d) => {
    if (mine !== wanted) return;
    d?.draw(t.shape, (geometry: Geometry) => {
      tool.value = null;
      editing.value = { kind: t.kind, id: addFeature(t.kind, geometry, t.properties()) };
    });
  });
}
/** Opens the form of one thing, its corners on the map. */
export function startEditing(kind: Kind, id: string): void {
  tool.value = null;
  editing.value = { kind, id };
}

export function startPlanning(): void {
  keyHooks.add = (letter) => {
    const t = TOOLS.find((x) => x.key === letter);
    if (t === undefined) return;
    view.stage.value = "plan";
    pickTool(t.id);
  };
  keyHooks.stopTool = () => {
    if (tool.value !== null) pickTool(null);
    else if (editing.value !== null) editing.value = null;
    else return false;
    return true;
  };
  effect(() => {
    const e = editing.value;
    const on = view.stage.value === "plan";
    const port = mapPort.value;
    if (port === null) drawing = null;
    const mine = ++wanted;
    if (!on || e === null) {
      if (tool.peek() === null || !on) drawing?.stop();
      if (!on) tool.value = null;
      return;
    }
    const f = featuresOf(e.kind).find((x, i) => idOf(e.kind, x, i) === e.id);
    if (f === undefined) {
      drawing?.stop();
      return;
    }
    void hand().then((d) => {
      if (mine !== wanted) return;
      d?.edit(f.geometry, (geometry) => setGeometry(e.kind, e.id, geometry));
    });
  });
  effect(() => {
    view.planId.value;
    editing.value = null;
    tool.value = null;
  });
}
