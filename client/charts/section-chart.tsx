import { useId, useMemo } from "preact/hooks";
import type { PathAnswer } from "../../src/plan/outputs/types.ts";
import { height, length } from "../lib/format.ts";
import { sampleAt, sectionGeometry } from "../lib/section.ts";
import { announce } from "../state/notices.ts";
import { along, lengthUnit } from "../state/view.ts";
import { useSize } from "./use-size.ts";

const first = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
/** What stands most in the way; below the line it is only the nearest thing to it. */
function obstructionText(name: string, distanceM: number, aboveLineM: number): string {
  const unit = lengthUnit.value;
  const at = `${length(distanceM, unit, 0)}, ${length(Math.abs(aboveLineM), unit)}`;
  return aboveLineM > 0 ? `${first(name)} at ${at} above the line` : `Nearest to the line: ${name} at ${at} below`;
}

/** What stands at one place of the section, in words. */
export function sampleText(p: PathAnswer, alongM: number): string {
  const unit = lengthUnit.value;
  const i = sampleAt(p, alongM);
  const g = p.groundM[i];
  const at = length(p.distancesM[i], unit, 0);
  if (g == null) return `${at}: no ground data`;
  const clear = p.clearanceM[i];
  const gap =
    clear == null
      ? ""
      : clear >= 0
        ? `, line ${length(clear, unit)} above everything`
        : `, ${length(-clear, unit)} into the line`;
  const tall = (p.canopyTopM[i] ?? g) > g + 0.3 ? ", trees" : (p.surfaceM[i] ?? g) > g + 0.3 ? ", something solid" : "";
  return `${at}: ground ${height(g, unit)}${tall}${gap}`;
}

export function SectionChart(props: { path: PathAnswer; from: string; to: string; summary: string; live?: boolean }) {
  const [box, size] = useSize<HTMLDivElement>();
  const clip = useId();
  const { path } = props;
  const unit = lengthUnit.value;
  const live = props.live !== false;
  const s = useMemo(
    () => sectionGeometry(path, size.width, size.height, unit === "ft" ? 0.3048 : 1),
    [path, size.width, size.height, unit],
  );
  const at = live ? along.value.alongM : undefined;
  const worst = path.worstObstruction;
  const move = (event: PointerEvent): void => {
    const rect = (event.currentTarget as Element).getBoundingClientRect();
    along.value = { alongM: s.alongAt(event.clientX - rect.left) };
  };
  const key = (event: KeyboardEvent): void => {
    const step = path.distanceM / (event.shiftKey ? 10 : 60);
    const now = along.value.alongM ?? worst?.distanceM ?? 0;
    const next = { ArrowRight: now + step, ArrowLeft: now - step, Home: 0, End: path.distanceM }[event.key];
    if (next === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    const alongM = Math.min(path.distanceM, Math.max(0, next));
    along.value = { alongM };
    announce(sampleText(path, alongM));
  };
  const say = (v: number): string => height(v, unit).replace(/ \w+$/, "");
  const { frame } = s;
  const start = path.lineM[0];
  const last = path.lineM.at(-1);
  const wx = worst === null ? 0 : s.x(worst.distanceM);
  const said = worst === null ? "" : obstructionText(worst.name, worst.distanceM, worst.aboveLineM);
  const wide = said.length * 6.3;
  const flip = wx > (frame.left + frame.right) * 0.42;
  const labelX = Math.max(frame.left + 2, Math.min(frame.right - wide, flip ? wx - 6 - wide : wx + 6));
  return (
    <div ref={box} class="chart">
      {size.width > 0 && (
        <svg
          class="section"
          role="img"
          aria-label={props.summary}
          tabindex={0}
          onPointerMove={live ? move : undefined}
          onPointerDown={live ? move : undefined}
          onPointerLeave={(e) => {
            if (live && e.pointerType === "mouse") along.value = {};
          }}
          onKeyDown={live ? key : undefined}
        >
          {s.yTicks.map((v) => (
            <g key={v}>
              <path class="grid" d={`M${frame.left} ${s.y(v)}H${frame.right}`} />
              <text class="tick" x={frame.left - 6} y={s.y(v) + 4} text-anchor="end">
                {say(v)}
              </text>
            </g>
          ))}
          {s.xTicks.map((v, i) => (
            <g key={v}>
              <path class="grid" d={`M${s.x(v)} ${frame.bottom}v4`} />
              <text class="tick" x={s.x(v)} y={frame.bottom + 17} text-anchor="middle">
                {length(v, unit, 0).replace(/ (m|ft)$/, i === 0 || i === s.xTicks.length - 1 ? " $1" : "")}
              </text>
            </g>
          ))}
          {s.unknown.map((u) => (
            <g key={u.x} class="void">
              <rect x={u.x} y={frame.top} width={u.width} height={frame.bottom - frame.top} />
              {u.width > 60 && (
                <text x={u.x + u.width / 2} y={frame.bottom - 8} text-anchor="middle">
                  no ground data
                </text>
              )}
            </g>
          ))}
          <clipPath id={clip}>
            <path d={`M${frame.left} ${frame.top}H${frame.right}V${frame.bottom}H${frame.left}Z`} />
          </clipPath>
          <path class="fresnel" d={s.fresnel} clip-path={`url(#${clip})`} />
          {s.trees.map((d) => (
            <path key={d} class="tree" d={d} />
          ))}
          {s.solids.map((d) => (
            <path key={d} class="solid" d={d} />
          ))}
          {s.ground.map((d) => (
            <path key={d} class="earth" d={d} />
          ))}
          {s.chord !== "" && <path class="chord" d={s.chord} />}
          <path class="ray" d={s.line} />
          {start != null && path.from.groundAmslM !== null && (
            <path class="mast" d={`M${frame.left + 1} ${s.y(path.from.groundAmslM)}V${s.y(start)}`} />
          )}
          {last != null && path.to.groundAmslM !== null && (
            <path class="mast" d={`M${frame.right - 1} ${s.y(path.to.groundAmslM)}V${s.y(last)}`} />
          )}
          {worst !== null && (
            <>
              <path class="mark" d={`M${wx} ${frame.top + 2}V${frame.bottom}`} />
              <text class="label" x={labelX} y={frame.top + 10}>
                {said}
              </text>
            </>
          )}
          {start != null && (
            <text class="label" x={frame.left + 8} y={Math.max(frame.top + 26, s.y(start) - 8)}>
              {props.from}
            </text>
          )}
          {last != null && (
            <text class="label" x={frame.right - 4} y={Math.max(frame.top + 26, s.y(last) - 12)} text-anchor="end">
              {props.to}
            </text>
          )}
          {at !== undefined && <path class="cursor" d={`M${s.x(at)} ${frame.top}V${frame.bottom}`} />}
        </svg>
      )}
    </div>
  );
}
