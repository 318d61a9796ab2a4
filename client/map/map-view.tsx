import { useEffect, useRef } from "preact/hooks";
import { readCell } from "../state/layers.ts";
import { dropTrial, moveTrial } from "../state/trial.ts";
import * as view from "../state/view.ts";
import type { MapPort } from "./port.ts";
import { bearing, mapPort, metresPerPixel, pointer } from "./state.ts";

import { wire } from "./wire.ts";

/** Wires the page's state to the map; the library itself loads after the first paint. */
export function MapView() {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => {
    let gone = false;
    let port: MapPort | null = null;
    const stops: (() => void)[] = [];
    void import("./adapter.ts").then(({ createMap }) => {
      if (gone || box.current === null) return;
      port = createMap(box.current, {
        onPlace: (lng, lat) => {
          if (view.stage.value === "plan") return;
          readCell(lng, lat);
        },
        onSpot: (id) => {
          view.stage.value = "spots";
          if (view.selected.value === id && !view.narrow.value) view.openSpot(id);
          else view.select(id);
          document.getElementById(`spot-${id}`)?.scrollIntoView({ block: "nearest" });
        },
        onPoint: (id) => {
          view.focus.value = { kind: "point", id };
        },
        onHover: (what) => {
          view.hovered.value = what;
        },
        onPointer: (at) => {
          pointer.value = at;
        },
        onTrialMove: moveTrial,
        onTrialDrop: dropTrial,
        onView: (metres, turned) => {
          metresPerPixel.value = metres;
          bearing.value = turned;
        },
        onReady: () => box.current?.setAttribute("data-ready", "true"),
      });
      mapPort.value = port;
      stops.push(...wire(port));
    });
    const watch = new ResizeObserver(() => port?.resize());
    if (box.current) watch.observe(box.current);
    return () => {
      gone = true;
      watch.disconnect();
      for (const stop of stops) stop();
      mapPort.value = null;
      port?.destroy();
    };
  }, []);
  return <div ref={box} class="canvas" />;
}
