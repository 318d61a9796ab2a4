import type { Geometry } from "geojson";
import type { Map as GlMap } from "maplibre-gl";
import {
  TerraDraw,
  TerraDrawLineStringMode,
  TerraDrawPointMode,
  TerraDrawPolygonMode,
  TerraDrawSelectMode,
} from "terra-draw";
import { TerraDrawMapLibreGLAdapter } from "terra-draw-maplibre-gl-adapter";
import { type MapColors, readColors } from "./colors.ts";

export type DrawShape = "point" | "polygon" | "linestring";
export interface Drawing {
  /** Draws one new shape; the callback gets it once it is finished. */
  draw(shape: DrawShape, onDone: (geometry: Geometry) => void): void;
  /** Shows the corners of a shape so that they can be dragged; the callback gets every finished change. */
  edit(geometry: Geometry, onChange: (geometry: Geometry) => void): void;
  stop(): void;
  destroy(): void;
}
type Hex = `#${string}`;
const hex = (c: string): Hex => c as Hex;

function modes(k: MapColors) {
  const line = { lineStringColor: hex(k.mark), lineStringWidth: 2 };
  const area = { fillColor: hex(k.action), fillOpacity: 0.18, outlineColor: hex(k.mark), outlineWidth: 2 };
  const corner = {
    closingPointColor: hex(k.mark),
    closingPointWidth: 6,
    closingPointOutlineColor: hex(k.surface),
    closingPointOutlineWidth: 2,
  };
  return [
    new TerraDrawPointMode({
      styles: { pointColor: hex(k.mark), pointWidth: 6, pointOutlineColor: hex(k.surface), pointOutlineWidth: 2 },
    }),
    new TerraDrawLineStringMode({ styles: { ...line, ...corner }, snapping: { toCoordinate: true } }),
    new TerraDrawPolygonMode({ styles: { ...area, ...corner }, snapping: { toCoordinate: true } }),
    new TerraDrawSelectMode({
      allowManualDeselection: false,
      flags: Object.fromEntries(
        ["point", "polygon", "linestring"].map((mode) => [
          mode,
          {
            feature: {
              draggable: true,
              ...(mode === "point" ? {} : { coordinates: { midpoints: true, draggable: true, deletable: true } }),
            },
          },
        ]),
      ),
      styles: {
        selectedPolygonColor: hex(k.action),
        selectedPolygonFillOpacity: 0.18,
        selectedPolygonOutlineColor: hex(k.mark),
        selectedPolygonOutlineWidth: 2,
        selectedLineStringColor: hex(k.mark),
        selectedLineStringWidth: 2,
        selectedPointColor: hex(k.mark),
        selectedPointWidth: 6,
        selectionPointColor: hex(k.surface),
        selectionPointOutlineColor: hex(k.mark),
        selectionPointOutlineWidth: 2,
        selectionPointWidth: 5,
        midPointColor: hex(k.surface),
        midPointOutlineColor: hex(k.mark),
        midPointOutlineWidth: 1,
        midPointWidth: 3,
      },
    }),
  ];
}
const SHAPE: Partial<Record<Geometry["type"], DrawShape>> = {
  Point: "point",
  LineString: "linestring",
  Polygon: "polygon",
};
/** Positions to 1 cm: finer would only be noise in the plan. */
const rounded = <G>(geometry: G): G =>
  JSON.parse(JSON.stringify(geometry, (_k, v) => (typeof v === "number" ? Number(v.toFixed(7)) : v))) as G;

export function createDrawing(inner: unknown): Drawing {
  const map = inner as GlMap;
  const tool = new TerraDraw({
    adapter: new TerraDrawMapLibreGLAdapter({ map, coordinatePrecision: 9 }),
    modes: modes(readColors()),
  });
  let onFinish: ((id: string | number) => void) | null = null;
  tool.start();
  tool.on("finish", (id) => onFinish?.(id));
  const clear = (): void => {
    onFinish = null;
    if (!tool.enabled) return;
    if (tool.getMode() !== "static") tool.setMode("static");
    tool.clear();
  };
  return {
    draw(shape, onDone) {
      clear();
      onFinish = (id) => {
        const made = tool.getSnapshotFeature(id)?.geometry;
        setTimeout(() => {
          clear();
          if (made) onDone(rounded(made as Geometry));
        }, 0);
      };
      tool.setMode(shape);
    },
    edit(geometry, onChange) {
      clear();
      const mode = SHAPE[geometry.type];
      if (mode === undefined) return;
      const [added] = tool.addFeatures([
        { type: "Feature", geometry: rounded(geometry) as never, properties: { mode } },
      ]);
      if (added?.id === undefined || added.valid === false) return;
      tool.setMode("select");
      tool.selectFeature(added.id);
      onFinish = (id) => {
        const now = tool.getSnapshotFeature(id)?.geometry;
        if (now) onChange(rounded(now as Geometry));
      };
    },
    stop: clear,
    destroy() {
      clear();
      tool.stop();
    },
  };
}
