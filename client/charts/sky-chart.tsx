import { useMemo } from "preact/hooks";
import type { SatelliteView, SkyAnswer } from "../../src/plan/outputs/types.ts";
import { degrees, length, num, orbit } from "../lib/format.ts";
import { horizonAt, skyGeometry } from "../lib/sky-chart.ts";
import { announce } from "../state/notices.ts";
import { along, bearings, focus, hovered, lengthUnit } from "../state/view.ts";
import { useSize } from "./use-size.ts";

const POINTS: Record<number, string> = { 0: "N", 90: "E", 180: "S", 270: "W" };

export function viewText(v: SatelliteView): string {
  const name = orbit(v.satelliteDeg);
  if (v.clear === null) return `${name}, unknown`;
  if (v.clearanceDeg === null) return `${name}, ${v.clear ? "clear" : "blocked"}`;
  if (v.clearanceDeg < 0) return `${name}, ${degrees(-v.clearanceDeg)} too low`;
  return `${name}, ${degrees(v.clearanceDeg)} clear`;
}
/** How far each label is raised so that neighbours do not run into each other, px. */
function labelLifts(labels: { cx: number; y: number; text: string }[]): number[] {
  const out: number[] = labels.map(() => 0);
  const order = labels.map((_, i) => i).sort((a, b) => labels[a]!.cx - labels[b]!.cx);
  for (let n = 1; n < order.length; n++) {
    const a = order[n - 1]!;
    const b = order[n]!;
    const reach = (labels[a]!.text.length + labels[b]!.text.length) * 3.4;
    const close = labels[b]!.cx - labels[a]!.cx < reach && Math.abs(labels[a]!.y - out[a]! - labels[b]!.y) < 14;
    if (close) out[b] = out[a]! + 15;
  }
  return out;
}

/** What the horizon is at one bearing, in words. */
export function horizonText(sky: SkyAnswer, azimuthDeg: number): string {
  const h = horizonAt(sky, azimuthDeg);
  const compass = bearings.value === "compass";
  const shown = (((azimuthDeg - (compass ? sky.declinationDeg : 0)) % 360) + 360) % 360;
  const at = `${num(shown)}° ${compass ? "by compass" : "true"}`;
  if (h === null || h.elevationDeg === null) return `${at}: no data`;
  const what = {
    terrain: "ground",
    building: "building",
    tree: "trees",
    surface: "something solid",
    measured: "measured horizon",
    unknown: "unknown",
  }[h.kind];
  const far = h.distanceM === null ? "" : `, ${length(h.distanceM, lengthUnit.value, 0)} away`;
  return `${at}: ${what} up to ${degrees(h.elevationDeg)}${far}`;
}

export function SkyChart(props: { sky: SkyAnswer; summary: string; axis: string }) {
  const { sky } = props;
  const [box, size] = useSize<HTMLDivElement>();
  const compass = bearings.value === "compass";
  const offset = compass ? sky.declinationDeg : 0;
  const g = useMemo(() => skyGeometry(sky, size.width, size.height, offset), [sky, size.width, size.height, offset]);
  const { frame } = g;
  const at = along.value.azimuthDeg;
  const move = (event: PointerEvent): void => {
    const rect = (event.currentTarget as Element).getBoundingClientRect();
    along.value = { azimuthDeg: g.azimuthAt(event.clientX - rect.left) };
  };
  const key = (event: KeyboardEvent): void => {
    const step = event.shiftKey ? 10 : 1;
    const now = along.value.azimuthDeg ?? sky.satellites[0]?.azimuthDeg ?? 180;
    const next = { ArrowRight: now + step, ArrowLeft: now - step }[event.key];
    if (next === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    const azimuthDeg = (next + 360) % 360;
    along.value = { azimuthDeg };
    announce(horizonText(sky, azimuthDeg));
  };
  const labelled = new Set<string>();
  const lift = labelLifts(g.boxes.map((b) => ({ cx: b.cx, y: b.y, text: viewText(b.view) })));
  return (
    <div ref={box} class="chart">
      {size.width > 0 && (
        <svg
          class="sky"
          role="img"
          aria-label={props.summary}
          tabindex={0}
          onPointerMove={move}
          onPointerDown={move}
          onPointerLeave={(e) => {
            if (e.pointerType === "mouse") along.value = {};
          }}
          onKeyDown={key}
        >
          {g.elevationTicks.map((v) => (
            <g key={v}>
              <path class="grid" d={`M${frame.left} ${g.y(v)}H${frame.right}`} />
              <text class="tick" x={frame.left - 5} y={g.y(v) + 4} text-anchor="end">
                {v}°
              </text>
            </g>
          ))}
          {g.azimuthTicks.map((t) => {
            const shown = (((Math.round(t.azimuthDeg - offset) % 360) + 360) % 360) as number;
            const wide = (frame.right - frame.left) / g.azimuthTicks.length > 34;
            const named = POINTS[shown];
            return (
              <g key={t.azimuthDeg}>
                <path class="grid" d={`M${t.x} ${frame.bottom}v${shown % 20 === 0 ? 4 : 2}`} />
                {(wide || shown % 20 === 0) && t.x > frame.left + 8 && t.x < frame.right - 8 && (
                  <text class={`tick ${named ? "strong" : ""}`} x={t.x} y={frame.bottom + 16} text-anchor="middle">
                    {shown}°{named ? ` ${named}` : ""}
                  </text>
                )}
              </g>
            );
          })}
          <path class="arc" d={g.arc} />
          {g.arcTicks.map((t) => (
            <path key={t.x} class="arc-tick" d={`M${t.x} ${t.y - 3}v6`} />
          ))}
          {g.unknown.map((u) => (
            <g key={u.x} class="void">
              <rect x={u.x} y={frame.top} width={u.width} height={frame.bottom - frame.top} />
            </g>
          ))}
          <path class="tree" d={g.trees} />
          <path class="solid" d={g.others} />
          <path class="solid" d={g.buildings} />
          <path class="earth" d={g.terrain} />
          <text class="tick" x={frame.left} y={frame.bottom + 32}>
            {props.axis}
          </text>
          <path class="base" d={`M${frame.left} ${frame.bottom}H${frame.right}`} />
          {g.boxes.map((b, i) => {
            const bad = b.view.clear === false;
            const unknown = b.view.clear === null;
            const lit = hovered.value?.id === b.view.id || focus.value?.id === b.view.id;
            const by = b.view.blockedBy;
            const named = by !== null && by.name !== "" && !labelled.has(by.name);
            if (by !== null) labelled.add(by.name);
            const end = b.cx > frame.right - 70 ? "end" : b.cx < frame.left + 70 ? "start" : "middle";
            return (
              <g
                key={b.view.id}
                class={`tube ${bad ? "bad" : unknown ? "unknown" : ""} ${lit ? "lit" : ""}`}
                onPointerEnter={() => {
                  hovered.value = { kind: "satellite", id: b.view.id };
                }}
                onPointerLeave={() => {
                  hovered.value = null;
                }}
              >
                <rect x={b.x} y={b.y} width={b.width} height={b.height} />
                <use href="#hs-slot" x={b.cx - 9} y={b.cy - 9} width="18" height="18" />
                <text
                  class="label"
                  x={end === "middle" ? b.cx : end === "end" ? frame.right : frame.left}
                  y={Math.max(12, b.y - 6 - (lift[i] ?? 0))}
                  text-anchor={end}
                >
                  {viewText(b.view)}
                </text>
                {named && (
                  <text
                    class="label what"
                    x={g.x(((by.azimuthDeg - g.from + 360) % 360) + g.from)}
                    y={(b.cy + b.height / 2 + frame.bottom) / 2}
                    text-anchor="middle"
                  >
                    {by.name}
                  </text>
                )}
              </g>
            );
          })}
          {at !== undefined && (
            <path class="cursor" d={`M${g.x(((at - g.from + 360) % 360) + g.from)} ${frame.top}V${frame.bottom}`} />
          )}
        </svg>
      )}
    </div>
  );
}
