import type { ComponentChildren } from "preact";
import type { Check } from "../../src/plan/outputs/types.ts";
import { Icon } from "./icon.tsx";

/** The level slab with one cut corner: everything that is a place. */
export function Slab(props: { text: string | number; kind: "selected" | "full" | "open"; big?: boolean }) {
  const kind = props.kind === "selected" ? "sel" : props.kind === "open" ? "o" : "";
  return (
    <span class={`slab ${kind} ${props.big ? "big" : ""}`}>
      <span>{props.text}</span>
    </span>
  );
}
const STATUS = {
  pass: { icon: "hs-pass", tone: "t-pass", word: "pass" },
  caution: { icon: "hs-caution", tone: "t-caution", word: "caution" },
  fail: { icon: "hs-nogo", tone: "t-nogo", word: "no-go" },
  unknown: { icon: "hs-unknown", tone: "t-unk", word: "unknown" },
} as const;
export function Status(props: { status: Check["status"] }) {
  const s = STATUS[props.status];
  return (
    <span class={`status ${s.tone}`}>
      <Icon name={s.icon} size="s" label={s.word} />
    </span>
  );
}
export function Flag(props: { tone: "caution" | "nogo" | "unk" | "pass"; icon: string; children: ComponentChildren }) {
  return (
    <span class={`flag t-${props.tone}`}>
      <Icon name={props.icon} /> {props.children}
    </span>
  );
}
export const RUNG_ICON = { must: "hs-point-must", should: "hs-point-should", nice: "hs-point-nice" } as const;
export function RungIcon(props: { rung: keyof typeof RUNG_ICON }) {
  return <Icon name={RUNG_ICON[props.rung]} size="s" class="rung" />;
}
/** Quiet blocks in the real layout while something loads. */
export function Quiet(props: { rows: number; height?: number }) {
  return (
    <div class="quiet-blocks" aria-hidden="true">
      {Array.from({ length: props.rows }, (_, i) => (
        <span key={i} style={{ height: `${props.height ?? 46}px` }} />
      ))}
    </div>
  );
}
