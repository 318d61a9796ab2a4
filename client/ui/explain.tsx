import { signal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { keyHooks } from "../state/keys.ts";
import { say } from "../state/notices.ts";
import { Icon } from "./icon.tsx";

/** What stands behind a number: one sentence, its inputs with their sources, the model. */
export interface Explanation {
  title: string;
  value: string;
  sentence: string;
  formula?: string;
  rows?: { name: string; value: string; source: string }[];
  model?: string;
  uncertainty?: string;
}
const shown = signal<{ anchor: Element; what: Explanation } | null>(null);

/** A number that can be asked where it comes from. */
export function Num(props: { children: ComponentChildren; why: () => Explanation; class?: string }) {
  const open = (event: Event): void => {
    event.stopPropagation();
    shown.value = { anchor: event.currentTarget as Element, what: props.why() };
  };
  return (
    <button type="button" class={`num ${props.class ?? ""}`} onClick={open} aria-haspopup="dialog">
      {props.children}
    </button>
  );
}
keyHooks.explain = (element) => (element as HTMLElement).click();

const copyText = (e: Explanation): string =>
  [
    `${e.title}: ${e.value}`,
    e.sentence,
    e.formula,
    ...(e.rows ?? []).map((r) => `${r.name}: ${r.value} (${r.source})`),
    e.model,
    e.uncertainty,
  ]
    .filter((line) => line !== undefined && line !== "")
    .join("\n");

/** The one popover for all numbers. */
export function Explain() {
  const box = useRef<HTMLDivElement>(null);
  const now = shown.value;
  useEffect(() => {
    const el = box.current;
    if (el === null || now === null) return;
    if (!el.matches(":popover-open")) el.showPopover();
    const a = now.anchor.getBoundingClientRect();
    const w = el.offsetWidth;
    const h = el.offsetHeight;
    const left = Math.max(8, Math.min(innerWidth - w - 8, a.left));
    const below = a.bottom + 8 + h < innerHeight;
    el.style.left = `${left}px`;
    el.style.top = `${below ? a.bottom + 8 : Math.max(8, a.top - h - 8)}px`;
    el.querySelector("button")?.focus();
  }, [now]);
  const close = (): void => box.current?.hidePopover();
  const copy = (e: Explanation): void => {
    void navigator.clipboard?.writeText(copyText(e)).then(() => say("Copied."));
  };
  return (
    <div
      ref={box}
      popover="auto"
      class="explain"
      role="dialog"
      aria-label={now === null ? "Where this number comes from" : `${now.what.title}: where it comes from`}
      onToggle={(event) => {
        if (event.newState !== "closed") return;
        const anchor = shown.value?.anchor as HTMLElement | undefined;
        shown.value = null;
        if (box.current?.contains(document.activeElement) || document.activeElement === document.body) anchor?.focus();
      }}
    >
      {now !== null && (
        <>
          <div class="row1">
            <b class="dn">{now.what.title}</b>
            <button type="button" class="btn icon quiet" aria-label="Close" onClick={close}>
              <Icon name="hs-i-close" size="s" />
            </button>
          </div>
          <p class="big">{now.what.value}</p>
          <p>{now.what.sentence}</p>
          {(now.what.formula ?? "") !== "" && <p class="formula">{now.what.formula}</p>}
          {now.what.rows !== undefined && now.what.rows.length > 0 && (
            <table>
              <tbody>
                {now.what.rows.map((r) => (
                  <tr key={r.name}>
                    <th scope="row">{r.name}</th>
                    <td class="n b">{r.value}</td>
                    <td class="sub">{r.source}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          )}
          {(now.what.model ?? "") !== "" && <p class="sub">{now.what.model}</p>}
          {(now.what.uncertainty ?? "") !== "" && <p class="sub">{now.what.uncertainty}</p>}
          <div>
            <button type="button" class="btn" onClick={() => copy(now.what)}>
              <Icon name="hs-i-copy" size="s" /> Copy
            </button>
          </div>
        </>
      )}
    </div>
  );
}
