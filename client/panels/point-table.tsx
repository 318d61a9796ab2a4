import { useState } from "preact/hooks";
import type { PointResult, Spot } from "../../src/plan/outputs/types.ts";
import { chance, num, share, signed } from "../lib/format.ts";
import { sectionPoint } from "../state/detail.ts";
import { plan } from "../state/session.ts";
import { focus, hovered } from "../state/view.ts";
import { Num } from "../ui/explain.tsx";
import { Icon } from "../ui/icon.tsx";
import { RungIcon } from "../ui/parts.tsx";
import { pointExplanation } from "./explanations.ts";

const FEW = 6;
export const served = (p: PointResult): string => (p.tiles === null ? chance(p.probability) : share(p.probability));

/** Those that matter first: musts, then what falls short, then the rest, each in the plan's order. */
export function inOrder(points: readonly PointResult[]): PointResult[] {
  const key = (p: PointResult): number => (p.rung === "must" ? 0 : p.met === true ? 2 : 1);
  return [...points].sort((a, b) => key(a) - key(b));
}
const serviceText = (points: readonly PointResult[]): string => {
  const ids = new Set(points.map((p) => p.service));
  return (plan.value?.unit.services ?? [])
    .filter((s) => ids.has(s.id))
    .map((s) => `${s.name ?? s.id}, ${num(s.kind === "wifi" ? s.frequencyMHz : s.downlinkMHz)} MHz`)
    .join("; ");
};

export function PointTable(props: { spot: Spot }) {
  const [all, setAll] = useState(false);
  const rows = inOrder(props.spot.points);
  const shown = all ? rows : rows.slice(0, FEW);
  const many = new Set(rows.map((p) => p.need)).size > 1;
  return (
    <section class="sec">
      <h2>
        Points <span class="sub">{serviceText(rows)}</span>
        {rows.length > FEW && (
          <button type="button" class="link dn push" aria-expanded={all} onClick={() => setAll(!all)}>
            {all ? "Fewer" : `All ${rows.length}`}
          </button>
        )}
      </h2>
      <table class="points">
        <thead>
          <tr>
            <th class="mark-col">
              <span class="vh">Need</span>
            </th>
            <th>Point</th>
            <th class="n">Chance</th>
            <th class="n">Target</th>
            <th class="n">Margin dB</th>
            <th>Gives out first</th>
          </tr>
        </thead>
        <tbody>
          {shown.map((p) => (
            <PointRow key={`${p.id}/${p.need}`} point={p} many={many} />
          ))}
        </tbody>
      </table>
    </section>
  );
}

function PointRow(props: { point: PointResult; many: boolean }) {
  const p = props.point;
  const on = sectionPoint.value === p.id;
  const lit = hovered.value?.kind === "point" && hovered.value.id === p.id;
  return (
    <tr
      class={on ? "hl" : lit ? "lit" : ""}
      onPointerEnter={() => {
        hovered.value = { kind: "point", id: p.id };
      }}
      onPointerLeave={() => {
        hovered.value = null;
      }}
      onClick={() => {
        focus.value = { kind: "point", id: p.id };
      }}
    >
      <td>
        <RungIcon rung={p.rung} />
        <span class="vh">{p.rung}</span>
      </td>
      <th scope="row">
        <button
          type="button"
          class="plain"
          aria-pressed={on}
          onClick={(e) => {
            e.stopPropagation();
            focus.value = { kind: "point", id: p.id };
          }}
        >
          {p.name} <span class="sub">{p.code}</span>
        </button>
        {props.many && <span class="sm sub block">{p.need}</span>}
      </th>
      <td class="n">
        {p.met === false && <Icon name="hs-short" size="s" class="t-nogo inline" label="falls short" />}
        {p.met === null && <Icon name="hs-unknown" size="s" class="t-unk inline" label="unknown" />}
        <Num why={() => pointExplanation(p)}>{served(p)}</Num>
      </td>
      <td class="n sub">{num(p.target * 100)}</td>
      <td class="n">{p.marginDb === null ? "unknown" : signed(p.marginDb)}</td>
      <td class="sub">{p.limitingDirection ?? "unknown"}</td>
    </tr>
  );
}
