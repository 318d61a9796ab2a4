import type { Geometry } from "geojson";
import { useEffect, useRef } from "preact/hooks";
import { coordinate } from "../lib/coordinate.ts";
import { middle } from "../lib/middle.ts";
import { mapPort } from "../map/state.ts";
import { spots } from "../state/runs.ts";
import { buildings, donors, drops, hazards, parking, points } from "../state/session.ts";
import { focus, listOpen, notation, select, stage } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";

interface Item {
  key: string;
  name: string;
  what: string;
  at: [number, number];
  go?: () => void;
}
const HAZARD = {
  "power-line": "power line",
  "keep-out": "keep out",
  crowd: "crowd",
  opening: "door or intake",
  water: "water",
  obstacle: "obstacle",
};
type Named = { geometry: unknown; properties: { id?: string | undefined; name?: string | undefined } };
const at = (f: Named): [number, number] => middle(f.geometry as Geometry) as [number, number];

function groups(): { name: string; items: Item[] }[] {
  const list = (
    features: readonly Named[] | undefined,
    kind: string,
    what: (f: Named) => string,
    go?: (f: Named, i: number) => void,
  ): Item[] =>
    (features ?? []).map((f, i) => ({
      key: `${kind}${i}`,
      name: f.properties.name ?? f.properties.id ?? `${kind} ${i + 1}`,
      what: what(f),
      at: at(f),
      ...(go ? { go: () => go(f, i) } : {}),
    }));
  return [
    {
      name: "Spots",
      items: spots.value.map((s) => ({
        key: s.id,
        name: `${s.rank} ${s.name}`,
        what: s.feasible ? "serves every must" : "not usable as it is",
        at: [s.lng, s.lat] as [number, number],
        go: () => {
          stage.value = "spots";
          select(s.id);
        },
      })),
    },
    {
      name: "Points, areas and routes",
      items: list(
        points.value?.features,
        "point",
        (f) => (f.properties as { rung?: string }).rung ?? "",
        (f, i) => {
          focus.value = { kind: "point", id: f.properties.id ?? `point-${i + 1}` };
        },
      ),
    },
    { name: "Parking", items: list(parking.value?.features, "parking", () => "where it may stand") },
    {
      name: "Keep clear of",
      items: list(
        hazards.value?.features,
        "hazard",
        (f) => HAZARD[(f.properties as { kind?: keyof typeof HAZARD }).kind ?? "obstacle"],
      ),
    },
    { name: "Wired drops", items: list(drops.value?.features, "drop", () => "wired drop") },
    { name: "Donor cells", items: list(donors.value?.features, "donor", () => "donor cell") },
    {
      name: "Buildings with a name",
      items: list(
        buildings.value?.features.filter((f) => f.properties.name !== undefined),
        "building",
        () => "building",
      ),
    },
  ].filter((g) => g.items.length > 0);
}

/** The list twin of the map: everything on it, by name, reachable by keyboard. */
export function MapList() {
  const box = useRef<HTMLElement>(null);
  const open = listOpen.value;
  useEffect(() => {
    if (open) box.current?.querySelector<HTMLElement>("button")?.focus();
  }, [open]);
  if (!open) return null;
  return (
    <section ref={box} class="card map-list" aria-label="Everything on the map">
      <div class="row1">
        <h2>On the map</h2>
        <button
          type="button"
          class="btn icon quiet"
          aria-label="Close"
          onClick={() => {
            listOpen.value = false;
          }}
        >
          <Icon name="hs-i-close" size="s" />
        </button>
      </div>
      <div class="scroll">
        {groups().map((g) => (
          <div key={g.name}>
            <h3>{g.name}</h3>
            <ul>
              {g.items.map((i) => (
                <li key={i.key}>
                  <button
                    type="button"
                    class="menu-row inset"
                    onClick={() => {
                      i.go?.();
                      mapPort.value?.show(i.at[0], i.at[1]);
                    }}
                  >
                    <span>{i.name}</span>
                    <span class="sub sm">
                      {i.what} · {coordinate({ lng: i.at[0], lat: i.at[1] }, notation.value)}
                    </span>
                  </button>
                </li>
              ))}
            </ul>
          </div>
        ))}
      </div>
    </section>
  );
}
