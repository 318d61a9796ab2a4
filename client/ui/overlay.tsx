import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { assertive, type Fault, polite, toast } from "../state/notices.ts";
import { Icon } from "./icon.tsx";

/** Speaks for the page: polite status, assertive faults. */
export function Live() {
  return (
    <>
      <div class="vh" role="status" aria-live="polite">
        {polite}
      </div>
      <div class="vh" role="alert" aria-live="assertive">
        {assertive}
      </div>
    </>
  );
}

/** Names the last act and offers to take it back; stays 8 s or while it holds the focus. */
export function ToastBox() {
  const t = toast.value;
  const [held, hold] = useState(false);
  useEffect(() => {
    if (t === null || held) return;
    const timer = setTimeout(() => {
      toast.value = null;
    }, 8000);
    return () => clearTimeout(timer);
  }, [t, held]);
  return (
    <div class="toast-place" role="status">
      {t !== null && (
        <div class="toast" onFocusIn={() => hold(true)} onFocusOut={() => hold(false)}>
          <span>{t.text}</span>
          {t.act && (
            <button
              type="button"
              class="btn quiet"
              onClick={() => {
                toast.value = null;
                t.act?.run();
              }}
            >
              {t.act.label}
            </button>
          )}
          <button
            type="button"
            class="btn icon quiet"
            aria-label="Close"
            onClick={() => {
              toast.value = null;
            }}
          >
            <Icon name="hs-i-close" size="s" />
          </button>
        </div>
      )}
    </div>
  );
}

/** Beside its cause: what happened, what to do; the code one level down. */
export function FaultBox(props: { fault: Fault | undefined; children?: ComponentChildren }) {
  const f = props.fault;
  if (f === undefined) return null;
  return (
    <section class="fault" aria-label={f.title}>
      <Icon name="hs-nogo" size="s" class="t-nogo" />
      <div>
        <b>{f.title}</b>
        <p>{f.text}</p>
        {f.hint !== "" && <p class="mid">{f.hint}</p>}
        <div class="acts">
          {f.retry !== undefined && (
            <button type="button" class="btn" onClick={f.retry}>
              Try again
            </button>
          )}
          {props.children}
        </div>
        <details>
          <summary>Details</summary>
          <code>{f.code}</code>
        </details>
      </div>
    </section>
  );
}

/** A native dialog that closes on Esc, on its button and on a click beside it. */
export function Dialog(props: {
  title: string;
  open: boolean;
  onClose: () => void;
  children: ComponentChildren;
  wide?: boolean;
}) {
  const box = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const el = box.current;
    if (el === null) return;
    if (props.open && !el.open) el.showModal();
    if (!props.open && el.open) el.close();
  }, [props.open]);
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: a click beside it is a second way; Esc and the button do the same
    <dialog
      ref={box}
      class={`dialog ${props.wide ? "wide" : ""}`}
      aria-label={props.title}
      onClose={props.onClose}
      onClick={(event) => {
        if (event.target === box.current) box.current?.close();
      }}
    >
      {props.open && (
        <div class="dialog-in">
          <div class="row1">
            <h2>{props.title}</h2>
            <button type="button" class="btn icon quiet" aria-label="Close" onClick={() => box.current?.close()}>
              <Icon name="hs-i-close" />
            </button>
          </div>
          {props.children}
        </div>
      )}
    </dialog>
  );
}
