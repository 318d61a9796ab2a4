import { trial } from "../state/trial.ts";
import { compared, opened, phoneTab, planId, type Stage, stage } from "../state/view.ts";

interface Tab {
  name: string;
  on: boolean;
  go: () => void;
}
const STAGES: [Stage, string][] = [
  ["plan", "Plan"],
  ["spots", "Spots"],
  ["handover", "Hand over"],
];
const view = (id: typeof phoneTab.value, name: string): Tab => ({
  name,
  on: phoneTab.value === id,
  go: () => {
    phoneTab.value = id;
  },
});

/** On a phone the map is a tab of its own; once a spot is open, its charts have theirs. */
export function PhoneTabs() {
  if (planId.value === null) return null;
  const deep = stage.value === "spots" && (opened.value || trial.value !== null || compared.value.length === 2);
  const tabs: Tab[] = deep
    ? [
        view("panel", compared.value.length === 2 ? "Compare" : "Spot"),
        view("charts", "Line and sky"),
        view("map", "Map"),
      ]
    : [
        ...STAGES.map(
          ([id, name]): Tab => ({
            name,
            on: phoneTab.value !== "map" && stage.value === id,
            go: () => {
              stage.value = id;
              phoneTab.value = "panel";
            },
          }),
        ),
        view("map", "Map"),
      ];
  return (
    <nav class="phone-tabs" aria-label="Views">
      {tabs.map((t) => (
        <button key={t.name} type="button" class="inset" aria-current={t.on ? "page" : undefined} onClick={t.go}>
          {t.name}
        </button>
      ))}
    </nav>
  );
}
