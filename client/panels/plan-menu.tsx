import { useEffect, useRef } from "preact/hooks";
import { count } from "../lib/format.ts";
import { loadStart, plan, plans } from "../state/session.ts";
import { dialog, narrow, opened, planId, selected, stage } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";
import { planCounts, ThemeButton } from "./bar.tsx";
import { UnitsChoice } from "./units-menu.tsx";

/** Another plan: forgets selections that belong to the old one. */
export function goToPlan(id: string | null): void {
  selected.value = null;
  opened.value = false;
  planId.value = id;
  stage.value = id === null ? "plan" : "spots";
}

export function PlanMenu() {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (plans.value === null && planId.value !== null) void loadStart();
  }, []);
  const close = (): void => box.current?.hidePopover();
  return (
    <>
      <button type="button" class="plan-name inset" popovertarget="plan-menu" aria-haspopup="true">
        <b>
          <span>{plan.value?.name ?? "No plan open"}</span> <Icon name="hs-i-down" size="s" />
        </b>
        <span class="sm sub">{planCounts()}</span>
      </button>
      <div
        id="plan-menu"
        ref={box}
        popover="auto"
        class="menu"
        onToggle={(e) => e.newState === "open" && void loadStart()}
      >
        <h2>Plans</h2>
        <ul>
          {(plans.value ?? []).map((p) => (
            <li key={p.id}>
              <button
                type="button"
                class="menu-row"
                aria-current={p.id === planId.value ? "true" : undefined}
                onClick={() => {
                  close();
                  goToPlan(p.id);
                }}
              >
                <b>{p.name}</b>
                <span class="sub">
                  {count(p.points, "point")}, {count(p.parkingAreas, "parking area")}
                </span>
              </button>
            </li>
          ))}
        </ul>
        <button
          type="button"
          class="menu-row"
          onClick={() => {
            close();
            goToPlan(null);
          }}
        >
          <b>New plan, or a finished one</b>
        </button>
        <button
          type="button"
          class="menu-row"
          onClick={() => {
            close();
            dialog.value = "keys";
          }}
        >
          Keys
        </button>
        <div class={narrow.value ? "" : "narrow-only"}>
          <h2>Units and colours</h2>
          <UnitsChoice />
          <ThemeButton />
        </div>
      </div>
    </>
  );
}
