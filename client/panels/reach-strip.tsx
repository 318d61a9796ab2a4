import type { PointResult } from "../../src/plan/outputs/types.ts";
import { chance } from "../lib/format.ts";
import { type StripLayout, stripBars, stripSentence } from "../lib/strip.ts";
import { focus, hovered } from "../state/view.ts";

const H = 24;
/** One column per point: height and colour are the chance, a slash and the target tick mark a short one. */
export function ReachStrip(props: { layout: StripLayout; points: readonly PointResult[]; spot: string }) {
  const bars = stripBars(props.layout, props.points);
  const w = props.layout.barWidth * 0.65;
  const inset = (props.layout.barWidth - w) / 2;
  const lit =
    hovered.value?.kind === "point" ? hovered.value.id : focus.value?.kind === "point" ? focus.value.id : null;
  return (
    <svg
      class="strip"
      width={props.layout.width}
      height={H + 2}
      role="img"
      aria-label={stripSentence(props.points, chance)}
    >
      {bars.map((b) => {
        const x = b.x + inset;
        const h = b.value === null ? 0 : Math.max(1, 23 * b.value);
        const tick = 25 - 23 * b.target;
        return (
          <g key={b.id} class={lit === b.id ? "lit" : ""}>
            <rect class="ground" x={x} y="1" width={w} height={H} />
            {b.value === null ? (
              <rect class="unknown" x={x + 0.5} y="1.5" width={w - 1} height={H - 1} />
            ) : (
              <rect class={`band-${b.band}`} x={x} y={25 - h} width={w} height={h} />
            )}
            {b.met === false && <path class="target" d={`M${b.x} ${tick}h${props.layout.barWidth}`} />}
            <path class="foot" d={`M${b.x} 25.5h${props.layout.barWidth}`} />
            {b.met === false && (
              <>
                <path class="slash-halo" d={`M${x - 1} 22L${x + w + 3} 4`} />
                <path class="slash" d={`M${x - 1} 22L${x + w + 3} 4`} />
              </>
            )}
            <rect
              class="hit"
              x={b.x - 1}
              y="0"
              width={props.layout.barWidth + 2}
              height={H + 2}
              onPointerEnter={() => {
                hovered.value = { kind: "point", id: b.id };
              }}
              onPointerLeave={() => {
                hovered.value = null;
              }}
            >
              <title>{tipText(props.points, b.id)}</title>
            </rect>
          </g>
        );
      })}
    </svg>
  );
}
const tipText = (points: readonly PointResult[], id: string): string =>
  points
    .filter((p) => p.id === id)
    .map((p) => `${p.name}: ${chance(p.probability)}, target ${Math.round(p.target * 100)} %`)
    .join("\n");

/** The head of the ledger: group names, and the code over each column. */
export function StripHead(props: { layout: StripLayout }) {
  const lit = hovered.value?.kind === "point" ? hovered.value.id : null;
  const { columns, groups, barWidth } = props.layout;
  return (
    <svg class="strip-head" width={props.layout.width} height="30" aria-hidden="true">
      {groups.map((g) => (
        <g key={g.rung}>
          <text class="group-name" x={g.x} y="10">
            {g.label}
          </text>
          <path d={`M${g.x} 14.5h${g.width}`} />
        </g>
      ))}
      {columns.map((c) => (
        <text key={c.id} class={lit === c.id ? "code lit" : "code"} x={c.x + barWidth / 2} y="27" text-anchor="middle">
          {c.code}
        </text>
      ))}
    </svg>
  );
}
