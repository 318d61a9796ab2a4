import { useState } from "preact/hooks";
import type { Spot } from "../../src/plan/outputs/types.ts";
import { comparison, type Pair, pairs } from "../lib/compare.ts";
import { num, signed } from "../lib/format.ts";
import { spots } from "../state/runs.ts";
import { compared, focus, narrow } from "../state/view.ts";
import { Num } from "../ui/explain.tsx";
import { Icon } from "../ui/icon.tsx";
import { RungIcon, Slab } from "../ui/parts.tsx";
import { CheckPairs } from "./compare-checks.tsx";
import { comparePoint } from "./compare-point.ts";
import { pointExplanation } from "./explanations.ts";
import { ROLE } from "./ledger-row.tsx";
import { served } from "./point-table.tsx";

export const comparedSpots = (): [Spot, Spot] | null => {
  const [a, b] = compared.value.map((id) => spots.value.find((s) => s.id === id));
  return a && b ? [a, b] : null;
};

/** Two spots side by side: sentence first, checks, then the chance at each point on one axis. */
export function ComparePanel() {
  const [fold, setFold] = useState(false);
  const both = comparedSpots();
  if (both === null) return null;
  const [a, b] = both;
  const words = comparison(a, b);
  const rows = pairs(a, b);
  const shown = fold ? rows.filter((r) => r.differencePct !== 0 || r.a.met !== r.b.met) : rows;
  return (
    <div class="scroll compare">
      <header class="ph">
        <button
          type="button"
          class="btn quiet small back"
          onClick={() => {
            compared.value = [];
          }}
        >
          <Icon name="hs-i-left" size="s" /> All spots
        </button>
        <div class="compare-head">
          <h1>Compare</h1>
          {[a, b].map((s, i) => (
            <div key={s.id} class="compare-who">
              <Slab text={s.rank} kind={i === 0 ? "selected" : "full"} />
              <div>
                <b>{s.name}</b>
                <p class="sm mid">{ROLE[s.role] || `score ${num(s.score)}`}</p>
              </div>
            </div>
          ))}
        </div>
        <p class="compare-say">
          {words.head} <b>{words.strong}.</b> {words.rest}
        </p>
      </header>
      <CheckPairs a={a} b={b} />
      <section class="sec">
        <h2>
          Chance of service
          <button type="button" class="link dn push" aria-pressed={fold} onClick={() => setFold(!fold)}>
            {fold ? `All ${rows.length} points` : "Fold equal rows"}
          </button>
        </h2>
        <PairTable rows={shown} a={a} b={b} />
        <p class="compare-key sm mid">
          <span>
            <i class="dot-a" /> spot {a.rank}
          </span>
          <span>
            <i class="dot-b" /> spot {b.rank}
          </span>
          <span>
            <i class="dot-target" /> target
          </span>
          <span class="t-nogo flag">
            <Icon name="hs-short" /> falls short there
          </span>
        </p>
      </section>
    </div>
  );
}

function PairTable(props: { rows: Pair[]; a: Spot; b: Spot }) {
  const w = narrow.value ? 110 : 300;
  const point = comparePoint(props.a, props.b);
  const x = (p: number): number => 6 + p * (w - 12);
  return (
    <table class="pair-chart">
      <thead>
        <tr>
          <th colSpan={2}>Point</th>
          <th class="axis">
            <svg width={w} height="16" aria-hidden="true">
              {[0, 25, 50, 75, 100].map((t) => (
                <text key={t} x={x(t / 100)} y="12" text-anchor={t === 0 ? "start" : t === 100 ? "end" : "middle"}>
                  {t === 100 ? "100 %" : t}
                </text>
              ))}
            </svg>
          </th>
          <th class="n" colSpan={2}>
            {props.a.rank} minus {props.b.rank}
          </th>
        </tr>
      </thead>
      <tbody>
        {props.rows.map((r) => {
          const short = [r.a.met === false ? props.a.rank : null, r.b.met === false ? props.b.rank : null].filter(
            (n) => n !== null,
          );
          return (
            <tr
              key={r.a.id}
              class={point === r.a.id ? "hl" : ""}
              onClick={() => {
                focus.value = { kind: "point", id: r.a.id };
              }}
            >
              <td class="mark-col">
                <RungIcon rung={r.a.rung} />
              </td>
              <th scope="row">
                <button
                  type="button"
                  class="plain"
                  onClick={() => {
                    focus.value = { kind: "point", id: r.a.id };
                  }}
                >
                  {r.a.name} <span class="sub">{r.a.code}</span>
                </button>
              </th>
              <td class="axis">
                <svg
                  width={w}
                  height="22"
                  role="img"
                  aria-label={`spot ${props.a.rank} ${served(r.a)}, spot ${props.b.rank} ${served(r.b)}, target ${Math.round(r.a.target * 100)} %`}
                >
                  {[0, 25, 50, 75, 100].map((t) => (
                    <path key={t} class="grid" d={`M${x(t / 100)} 0V22`} />
                  ))}
                  <path class="target" d={`M${x(r.a.target)} 3V19`} />
                  {r.a.probability !== null && r.b.probability !== null && (
                    <path class="span" d={`M${x(r.a.probability)} 11H${x(r.b.probability)}`} />
                  )}
                  {r.b.probability !== null && <path class="dot-b" d={slab(x(r.b.probability), 11, 6)} />}
                  {r.a.probability !== null && <path class="dot-a" d={slab(x(r.a.probability), 11, 4.5)} />}
                </svg>
              </td>
              <td class="t-nogo nw">
                {short.length > 0 && (
                  <span class="flag">
                    <Icon name="hs-short" label="falls short at spot" /> {short.join(" ")}
                  </span>
                )}
              </td>
              <td class="n">
                {r.differencePct === null ? (
                  "unknown"
                ) : r.differencePct === 0 ? (
                  <span class="sub">0</span>
                ) : (
                  <Num why={() => pointExplanation(r.a)}>{signed(r.differencePct, 0)}</Num>
                )}
              </td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
const slab = (cx: number, cy: number, r: number): string =>
  `M${cx - r} ${cy - r}H${cx + r * 0.4}L${cx + r} ${cy - r * 0.4}V${cy + r}H${cx - r}Z`;
