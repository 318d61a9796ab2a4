import { trial } from "../state/trial.ts";
import { opened, phoneTab, planId } from "../state/view.ts";

/** On a phone the map is a tab of its own; charts have theirs once a spot is open. */
export function PhoneTabs() {
  if (planId.value === null) return null;
  const tabs: { id: typeof phoneTab.value; name: string }[] = [
    { id: "panel", name: opened.value ? "Spot" : "List" },
    ...(opened.value || trial.value !== null ? [{ id: "charts" as const, name: "Line and sky" }] : []),
    { id: "map", name: "Map" },
  ];
  return (
    <nav class="phone-tabs" aria-label="Views">
      {tabs.map((t) => (
        <button
          key={t.id}
          type="button"
          class="inset"
          aria-current={phoneTab.value === t.id ? "page" : undefined}
          onClick={() => {
            phoneTab.value = t.id;
          }}
        >
          {t.name}
        </button>
      ))}
    </nav>
  );
}
