import { clock, count } from "../lib/format.ts";
import { canRedo, canUndo, nextRedo, nextUndo } from "../lib/history.ts";
import { connected } from "../state/notices.ts";
import { earlier, noFeasible, result, running, spots, startRun } from "../state/runs.ts";
import { changes, history, missing, parking, plan, points, redo, savedAt, saving, undo } from "../state/session.ts";
import { dialog, narrow, opened, planId, type Stage, selected, stage, theme } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";
import { PlanMenu } from "./plan-menu.tsx";
import { UnitsMenu } from "./units-menu.tsx";

const STAGES: { id: Stage; name: string }[] = [
  { id: "plan", name: "Plan" },
  { id: "spots", name: "Spots" },
  { id: "handover", name: "Hand over" },
];
const NEXT_THEME = { day: "night", night: "sun", sun: "day" } as const;
export const changesText = (n: number): string => count(n, "change");

export function savedText(): string {
  if (plan.value === null) return "";
  if (saving.value === "saving") return "Saving…";
  if (saving.value === "kept") return "Kept here, not saved yet";
  if (saving.value === "conflict") return "Not saved: changed elsewhere";
  return savedAt.value === null ? "Not saved yet" : `Saved ${clock(savedAt.value)}`;
}

function Freshness() {
  if (!connected.value)
    return (
      <span class="fresh gone" role="status">
        <Icon name="hs-unknown" size="s" /> No connection. You can look and edit; changes are kept here.
      </span>
    );
  if (running.value !== null) return <span class="fresh">Running</span>;
  if (result.value === null) return null;
  const open = (): void => {
    dialog.value = changes.value > 0 ? "changes" : "history";
  };
  if (earlier.value)
    return (
      <button
        type="button"
        class="fresh stale"
        onClick={() => {
          dialog.value = "history";
        }}
      >
        <Icon name="hs-caution" size="s" /> Results of an earlier run
      </button>
    );
  if (changes.value > 0)
    return (
      <button type="button" class="fresh stale" onClick={open}>
        <Icon name="hs-caution" size="s" /> {changesText(changes.value)} since the last run
      </button>
    );
  if (noFeasible.value)
    return (
      <button type="button" class="fresh gone" onClick={open}>
        <Icon name="hs-short" size="s" /> No spot serves every must
      </button>
    );
  return (
    <button type="button" class="fresh" onClick={open}>
      <Icon name="hs-pass" size="s" /> Results match the plan
    </button>
  );
}

export function ThemeButton() {
  const next = NEXT_THEME[theme.value];
  return (
    <button
      type="button"
      class="btn icon"
      aria-label={`Colours: ${theme.value}. Change to ${next}`}
      title={`Colours: ${theme.value}`}
      onClick={() => {
        theme.value = next;
      }}
    >
      <Icon name="hs-i-sun" />
    </button>
  );
}

function UndoRedo() {
  const back = nextUndo(history.value);
  const again = nextRedo(history.value);
  return (
    <>
      <button
        type="button"
        class="btn icon quiet"
        aria-label={back ? `Undo: ${back.label}` : "Undo"}
        title={back ? `Undo: ${back.label}` : "Nothing to undo"}
        disabled={!canUndo(history.value)}
        onClick={undo}
      >
        <Icon name="hs-i-undo" />
      </button>
      <button
        type="button"
        class="btn icon quiet"
        aria-label={again ? `Redo: ${again.label}` : "Redo"}
        title={again ? `Redo: ${again.label}` : "Nothing to redo"}
        disabled={!canRedo(history.value)}
        onClick={redo}
      >
        <Icon name="hs-i-redo" />
      </button>
    </>
  );
}

function RunButton() {
  const ready = plan.value !== null && missing.value.length === 0;
  const loud = changes.value > 0 && result.value !== null;
  return (
    <button
      type="button"
      class={`btn ${loud || (result.value === null && ready) ? "primary" : ""}`}
      disabled={!ready || running.value !== null || !connected.value}
      title={ready ? "Work out the order (R)" : `A run needs ${missing.value.join(" and ") || "a plan"}`}
      onClick={() => void startRun()}
    >
      {loud ? "Run again" : "Run"}
    </button>
  );
}

export function Bar() {
  if (narrow.value) return <PhoneBar />;
  return (
    <header class="bar" data-region="banner" tabIndex={-1}>
      <div class="mark">
        <Icon name="hs-mark" label="Hardstand" />
      </div>
      <PlanMenu />
      <nav class="steps" aria-label="Stages">
        {STAGES.map((s) => (
          <button
            key={s.id}
            type="button"
            class="inset"
            aria-current={(planId.value === null ? "plan" : stage.value) === s.id ? "page" : undefined}
            disabled={planId.value === null && s.id !== "plan"}
            onClick={() => {
              stage.value = s.id;
            }}
          >
            {s.name}
          </button>
        ))}
      </nav>
      <div class="grow" />
      <div class="tools">
        <Freshness />
        <UndoRedo />
        <span class="wide-only">
          <UnitsMenu />
          <ThemeButton />
        </span>
        <RunButton />
      </div>
    </header>
  );
}

/** On a phone: back, title, colours. */
function PhoneBar() {
  const spot = opened.value ? spots.value.find((s) => s.id === selected.value) : undefined;
  return (
    <header class="bar phone" data-region="banner" tabIndex={-1}>
      {spot ? (
        <button
          type="button"
          class="btn icon quiet"
          aria-label="Back to all spots"
          onClick={() => {
            opened.value = false;
          }}
        >
          <Icon name="hs-i-left" />
        </button>
      ) : (
        <div class="mark">
          <Icon name="hs-mark" label="Hardstand" />
        </div>
      )}
      {spot ? (
        <div class="phone-title">
          <b>
            Spot {spot.rank}, {spot.name}
          </b>
          <span class="sm sub">{plan.value?.name}</span>
        </div>
      ) : (
        <PlanMenu />
      )}
      <RunButton />
      <ThemeButton />
    </header>
  );
}
export const planCounts = (): string =>
  [
    savedText(),
    points.value === null ? "" : count(points.value.features.length, "point"),
    parking.value === null ? "" : count(parking.value.features.length, "parking area"),
  ]
    .filter((t) => t !== "")
    .join(" · ");
