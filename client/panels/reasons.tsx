import type { ComponentChildren } from "preact";
import type { Spot } from "../../src/plan/outputs/types.ts";
import { num } from "../lib/format.ts";
import { result } from "../state/runs.ts";
import { Num } from "../ui/explain.tsx";
import { Icon } from "../ui/icon.tsx";

export interface ReasonLine {
  text: string;
  icon: string;
  tone: string;
}
const STABLE = /^First in \d/;
/** A reason says by its words what it is: a loss, a warning, or a plain fact in favour. */
export function reasonLine(text: string): ReasonLine {
  const t = text.toLowerCase();
  if (/^(struck out|no way|no-go|does not clear|stop)/.test(t)) return { text, icon: "hs-nogo", tone: "t-nogo" };
  if (/^(loses|falls short|short|misses)/.test(t) || /falls? short/.test(t))
    return { text, icon: "hs-short", tone: "t-nogo" };
  if (/^unknown|no data|not known/.test(t)) return { text, icon: "hs-unknown", tone: "t-unk" };
  if (/too close|caution|blocked|held back|keep |look up|assumed|one way/.test(t))
    return { text, icon: "hs-caution", tone: "t-caution" };
  if (/^level with|^nothing the plan/.test(t)) return { text, icon: "hs-i-why", tone: "t-unk" };
  return { text, icon: "hs-pass", tone: "t-pass" };
}
export const reasonLines = (spot: Spot): ReasonLine[] => spot.reasons.filter((r) => !STABLE.test(r)).map(reasonLine);

/** "First in 171 of 200 draws": how sure the order is, with its count as a number to ask about. */
export function stabilityLine(spot: Spot): ComponentChildren | null {
  const said = spot.reasons.find((r) => STABLE.test(r));
  const found = said === undefined ? null : /^(First in )(\d[\d\s]* of \d[\d\s]*?)( draws.*)$/.exec(said);
  if (found === null) return said ?? null;
  const [, head, counted, tail] = found;
  return (
    <>
      {head}
      <Num
        why={() => ({
          title: "How often this spot stays first",
          value: counted!,
          sentence: "The order was drawn again with seeded errors; this is how often the spot came first.",
          rows: [
            { name: "First", value: `${num(spot.stabilityPct, 1)} %`, source: "stability draws" },
            ...(spot.topThreePct == null
              ? []
              : [{ name: "Among the first three", value: `${num(spot.topThreePct, 1)} %`, source: "stability draws" }]),
            ...(spot.scoreRange
              ? [
                  {
                    name: "Score in the draws",
                    value: `${num(spot.scoreRange[0], 1)} to ${num(spot.scoreRange[1], 1)}`,
                    source: "stability draws",
                  },
                ]
              : []),
            {
              name: "Seed",
              value: String(result.value?.rank.provenance.seed ?? "unknown"),
              source: "plan, search.seed",
            },
          ],
        })}
      >
        {counted}
      </Num>
      {tail}
    </>
  );
}

export function Reasons(props: { spot: Spot; most?: number }) {
  const stable = stabilityLine(props.spot);
  return (
    <ul class="why">
      {reasonLines(props.spot)
        .slice(0, props.most ?? 99)
        .map((r) => (
          <li key={r.text}>
            <span class={r.tone}>
              <Icon name={r.icon} />
            </span>
            <span>{r.text}</span>
          </li>
        ))}
      {stable !== null && (
        <li>
          <span class="t-unk">
            <Icon name="hs-i-why" />
          </span>
          <span>{stable}</span>
        </li>
      )}
    </ul>
  );
}
