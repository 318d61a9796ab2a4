import type { FeatureCollection } from "geojson";
import {
  type GeoJSONSource,
  Map as GlMap,
  type LayerSpecification,
  type MapMouseEvent,
  Marker,
  setWorkerUrl,
} from "maplibre-gl";
import "maplibre-gl/dist/maplibre-gl.css";
import workerUrl from "maplibre-gl/dist/maplibre-gl-worker.mjs?worker&url";
import { type MapColors, readColors } from "./colors.ts";
import { addImages, drawSlab } from "./images.ts";
import { buildLayers, SOURCES, type SourceName, VALUE_BEFORE } from "./layers.ts";
import type { Bounds, MapEvents, MapPort, SpotMark } from "./port.ts";
import { trialMarker } from "./trial-marker.ts";

setWorkerUrl(workerUrl);
const NONE: FeatureCollection = { type: "FeatureCollection", features: [] };
const calm = (): boolean => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** Builds the map in a container. Calls made before it is ready are kept and applied when it is. */
export function createMap(container: HTMLElement, events: MapEvents): MapPort {
  let colors: MapColors = readColors();
  let layers: LayerSpecification[] = [];
  let ready = false;
  const waiting: (() => void)[] = [];
  const later = (act: () => void): void => {
    if (ready) act();
    else waiting.push(act);
  };
  const map = new GlMap({
    container,
    style: { version: 8, sources: {}, layers: [] },
    center: [0, 0],
    zoom: 1,
    maxZoom: 20,
    attributionControl: false,
    fadeDuration: 0,
    pitchWithRotate: false,
    dragRotate: true,
    keyboard: true,
    doubleClickZoom: true,
    renderWorldCopies: false,
  });
  map.touchZoomRotate.disableRotation();
  const surface = map.getCanvas();
  surface.setAttribute(
    "aria-label",
    "Map. Arrow keys move it, plus and minus zoom. Press L for a list of everything on it.",
  );
  surface.tabIndex = 0;
  let spots: SpotMark[] = [];
  let value: Parameters<MapPort["setValue"]>[0] = null;
  let valueOpacity = 0.9;
  let valueOld = false;
  const saturation = (): number => (valueOld ? -0.75 : 0);
  const trial = trialMarker(map, Marker, events);

  map.once("load", () => {
    void (async () => {
      await document.fonts.load('600 12px "Hardstand Map SemiBold"').catch(() => []);
      await addImages(map, colors);
      for (const name of SOURCES) map.addSource(name, { type: "geojson", data: NONE });
      layers = buildLayers(colors);
      for (const layer of layers) if (layer.id !== "relief") map.addLayer(layer);
      ready = true;
      for (const act of waiting.splice(0)) act();
      events.onReady();
    })();
  });
  const tellView = (): void => {
    const lat = map.getCenter().lat;
    const metres = (40_075_016.686 * Math.cos((lat * Math.PI) / 180)) / (512 * 2 ** map.getZoom());
    events.onView(metres, map.getBearing());
  };
  map.on("move", tellView);

  const found = (event: MapMouseEvent): { kind: "spot" | "point"; id: string } | null => {
    if (!ready) return null;
    const { x, y } = event.point;
    const hit = map.queryRenderedFeatures(
      [
        [x - 8, y - 8],
        [x + 8, y + 8],
      ],
      { layers: ["spot", "point"] },
    )[0];
    if (hit === undefined) return null;
    return { kind: hit.layer.id === "spot" ? "spot" : "point", id: String(hit.properties.id) };
  };
  let frame = 0;
  map.on("mousemove", (event) => {
    if (frame !== 0 || map.isMoving()) return;
    frame = requestAnimationFrame(() => {
      frame = 0;
      const at = found(event);
      surface.style.cursor = at === null ? "" : "pointer";
      events.onHover(at);
      events.onPointer({ lng: event.lngLat.lng, lat: event.lngLat.lat });
    });
  });
  map.on("mouseout", () => {
    events.onHover(null);
    events.onPointer(null);
  });
  map.on("click", (event) => {
    const at = found(event);
    if (at?.kind === "spot") events.onSpot(at.id);
    else if (at?.kind === "point") events.onPoint(at.id);
    else events.onPlace(event.lngLat.lng, event.lngLat.lat);
  });

  const drawSpots = (): void => {
    for (const s of spots) drawSlab(map, `slab:${s.text}:${s.state}`, s.text, s.state, colors);
    setData("spots", {
      type: "FeatureCollection",
      features: spots.map((s) => ({
        type: "Feature",
        geometry: { type: "Point", coordinates: [s.lng, s.lat] },
        properties: {
          id: s.id,
          icon: `slab:${s.text}:${s.state}`,
          lit: s.lit,
          order: s.state === "selected" ? 1000 : s.state === "full" ? 500 - Number(s.text) : 100 - Number(s.text),
        },
      })),
    });
  };
  const setData = (name: SourceName, data: FeatureCollection): void =>
    later(() => (map.getSource(name) as GeoJSONSource | undefined)?.setData(data));
  const drawValue = (): void => {
    if (map.getLayer("value")) map.removeLayer("value");
    if (map.getSource("value")) map.removeSource("value");
    if (value === null) return;
    map.addSource("value", {
      type: "raster",
      tiles: [new URL(value.url, location.href).href.replaceAll("%7B", "{").replaceAll("%7D", "}")],
      tileSize: 256,
      bounds: value.bounds,
      minzoom: value.minZoom,
      maxzoom: value.maxZoom,
    });
    map.addLayer(
      {
        id: "value",
        type: "raster",
        source: "value",
        paint: {
          "raster-opacity": valueOpacity,
          "raster-resampling": "nearest",
          "raster-saturation": saturation(),
          "raster-fade-duration": 0,
        },
      },
      VALUE_BEFORE,
    );
  };
  const go = (b: Bounds, durationMs: number): void => {
    map.fitBounds(
      [
        [b.west, b.south],
        [b.east, b.north],
      ],
      { duration: calm() ? 0 : durationMs, padding: 24, maxZoom: 18 },
    );
  };

  return {
    setGround: (g) =>
      later(() => {
        if (map.getLayer("relief")) map.removeLayer("relief");
        if (map.getSource("relief")) map.removeSource("relief");
        if (g === null) {
          map.setMaxBounds(null);
          setData("extent", NONE);
          return;
        }
        const [w, s, e, n] = g.bounds;
        map.addSource("relief", {
          type: "raster",
          tiles: [new URL(g.url, location.href).href.replaceAll("%7B", "{").replaceAll("%7D", "}")],
          tileSize: 256,
          bounds: g.bounds,
          minzoom: g.minZoom,
          maxzoom: g.maxZoom,
        });
        map.addLayer(layers.find((l) => l.id === "relief")!, "tone");
        const ring = [
          [w, s],
          [e, s],
          [e, n],
          [w, n],
          [w, s],
        ];
        setData("extent", {
          type: "FeatureCollection",
          features: [{ type: "Feature", geometry: { type: "Polygon", coordinates: [ring] }, properties: {} }],
        });
        const dx = (e - w) * 0.75;
        const dy = (n - s) * 0.75;
        map.setMaxBounds([w - dx, s - dy, e + dx, n + dy]);
      }),
    setData,
    setSpots: (next) =>
      later(() => {
        spots = next;
        drawSpots();
      }),
    setValue: (next) =>
      later(() => {
        if (next?.key === value?.key) return;
        value = next;
        drawValue();
      }),
    setValueOpacity: (next) =>
      later(() => {
        valueOpacity = next;
        if (map.getLayer("value")) map.setPaintProperty("value", "raster-opacity", next);
      }),
    setValueOld: (old) =>
      later(() => {
        valueOld = old;
        if (map.getLayer("value")) map.setPaintProperty("value", "raster-saturation", saturation());
      }),
    setBlocker: (id) => later(() => map.setFilter("blocker", ["==", ["get", "id"], id ?? ""])),
    setTrial: (t) => later(() => trial.set(t)),
    recolor: () =>
      later(() => {
        colors = readColors();
        void addImages(map, colors);
        drawSpots();
        layers = buildLayers(colors);
        for (const layer of layers) {
          if (!map.getLayer(layer.id)) continue;
          for (const [name, v] of Object.entries(layer.paint ?? {}))
            map.setPaintProperty(layer.id, name as never, v as never);
        }
      }),
    setPadding: (p) => map.setPadding(p),
    fit: (b) => later(() => go(b, 0)),
    show: (lng, lat) =>
      later(() => {
        const inView = map.getBounds().contains([lng, lat]);
        const p = map.project([lng, lat]);
        const pad = map.getPadding();
        const { clientWidth: w, clientHeight: h } = container;
        const clear =
          p.x > (pad.left ?? 0) + 20 &&
          p.x < w - (pad.right ?? 0) - 20 &&
          p.y > (pad.top ?? 0) + 40 &&
          p.y < h - (pad.bottom ?? 0) - 20;
        if (inView && clear) return;
        map.easeTo({ center: [lng, lat], duration: calm() ? 0 : 300 });
      }),
    center: () => {
      const c = map.getCenter();
      return { lng: c.lng, lat: c.lat };
    },
    zoomBy: (steps) => map.zoomTo(map.getZoom() + steps, { duration: calm() ? 0 : 200 }),
    northUp: () => map.easeTo({ bearing: 0, pitch: 0, duration: calm() ? 0 : 200 }),
    tilt: () => map.easeTo({ pitch: map.getPitch() > 5 ? 0 : 55, duration: calm() ? 0 : 300 }),
    resize: () => map.resize(),
    focusTrial: () => later(() => trial.focus()),
    inner: () => map,
    destroy: () => {
      ready = false;
      map.remove();
    },
  };
}
