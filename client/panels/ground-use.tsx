import type { RejectReason } from "../../src/plan/outputs/types.ts";
import { area } from "../lib/format.ts";
import { result } from "../state/runs.ts";
import { lengthUnit } from "../state/view.ts";
import { Num } from "../ui/explain.tsx";

export const REASON_TEXT: Record<RejectReason, string> = {
  footprint: "footprint does not fit",
  slope: "too steep",
  "keep-out": "keep-out",
  water: "water",
  obstacle: "near an object",
  "power-line": "power line too close",
  crowd: "crowd in the fall zone",
  opening: "door or intake too close",
  sky: "no clear dish view",
};
const PATTERN: Partial<Record<RejectReason, string>> = {
  "power-line": "line",
  slope: "steep",
  obstacle: "object",
  sky: "sky",
};
export const patternOf = (r: RejectReason): string => PATTERN[r] ?? "short";

/** How much of the parking can be used, and where the rest went. */
export function GroundUse() {
  const rank = result.value?.rank;
  if (!rank) return null;
  const { totalHectares, usableHectares } = rank.parking;
  const unit = lengthUnit.value;
  const out = Math.max(0, totalHectares - usableHectares);
  const parts = rank.rejected.filter((r) => r.hectares > 0);
  const words = parts.map((r) => `${REASON_TEXT[r.reason]} ${area(r.hectares, unit)}`).join("; ");
  let x = (usableHectares / Math.max(1e-9, totalHectares)) * 100;
  return (
    <div class="ground">
      <div class="row1 dn mid">
        <span>
          <Num
            class="strong"
            why={() => ({
              title: "Ground that can be used",
              value: area(usableHectares, unit),
              sentence: "Each cell of parking counts once, under the first thing that strikes it out.",
              rows: [
                { name: "Parking drawn", value: area(totalHectares, unit), source: "plan" },
                ...parts.map((r) => ({
                  name: REASON_TEXT[r.reason],
                  value: area(r.hectares, unit),
                  source: "struck out",
                })),
                { name: "Cell", value: `${rank.parking.cellM} m`, source: "working grid" },
              ],
            })}
          >
            {area(usableHectares, unit)}
          </Num>{" "}
          of {area(totalHectares, unit)} of parking can be used
        </span>
        <span>{area(out, unit)} struck out</span>
      </div>
      <svg
        class="gbar"
        width="100%"
        height="12"
        role="img"
        aria-label={`Usable ${area(usableHectares, unit)}; ${words}`}
      >
        <rect class="usable" x="0" y="0" width="100%" height="12" />
        {parts.map((r) => {
          const w = (r.hectares / Math.max(1e-9, totalHectares)) * 100;
          const at = x;
          x += w;
          return (
            <g key={r.reason}>
              <rect x={`${at}%`} y="0" width={`${w}%`} height="12" fill={`url(#hs-pat-${patternOf(r.reason)})`} />
              <line x1={`${at}%`} x2={`${at}%`} y1="0" y2="12" />
              <title>{REASON_TEXT[r.reason]}</title>
            </g>
          );
        })}
        <rect class="frame" x="0.5" y="0.5" width="99.8%" height="11" />
      </svg>
    </div>
  );
}
