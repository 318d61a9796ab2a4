import { useState } from "preact/hooks";
import { HardstandError } from "../../src/errors/index.ts";
import { parseCoordinate } from "../../src/geodesy/parse.ts";
import { coordinate } from "../lib/coordinate.ts";
import { middle } from "../lib/middle.ts";
import { mapPort } from "../map/state.ts";
import { spots } from "../state/runs.ts";
import { ground, points } from "../state/session.ts";
import { putUnit } from "../state/trial.ts";
import { dialog, focus, notation, select, stage } from "../state/view.ts";

interface Hit {
  name: string;
  go: () => void;
}
function byName(text: string): Hit[] {
  const t = text.trim().toLowerCase();
  if (t === "") return [];
  const found: Hit[] = [];
  for (const s of spots.value)
    if (`${s.rank} ${s.name}`.toLowerCase().includes(t))
      found.push({
        name: `Spot ${s.rank}, ${s.name}`,
        go: () => {
          stage.value = "spots";
          select(s.id);
        },
      });
  for (const [i, f] of (points.value?.features ?? []).entries()) {
    const name = f.properties.name ?? f.properties.code ?? "";
    if (`${name} ${f.properties.code ?? ""}`.toLowerCase().includes(t))
      found.push({
        name,
        go: () => {
          focus.value = { kind: "point", id: f.properties.id ?? `point-${i + 1}` };
          const [lng, lat] = middle(f.geometry as never);
          mapPort.value?.show(lng!, lat!);
        },
      });
  }
  return found.slice(0, 8);
}

/** A name, or a coordinate in any notation; says what it understood. */
export function Find() {
  const [text, setText] = useState("");
  const hits = byName(text);
  let understood: { lng: number; lat: number; warnings: string[] } | null = null;
  let problem = "";
  if (/\d/.test(text) && text.trim().length > 5) {
    try {
      const p = parseCoordinate(text);
      understood = { ...p.place, warnings: p.warnings.map((w) => w.text) };
    } catch (thrown) {
      problem = thrown instanceof HardstandError ? thrown.message : "";
    }
  }
  const b = ground.value?.bounds;
  const outside =
    understood !== null &&
    b !== undefined &&
    (understood.lng < b[0] || understood.lng > b[2] || understood.lat < b[1] || understood.lat > b[3]);
  const done = (go: () => void): void => {
    dialog.value = null;
    go();
  };
  return (
    <form
      class="find"
      onSubmit={(e) => {
        e.preventDefault();
        if (hits[0]) done(hits[0].go);
        else if (understood !== null && !outside) done(() => putUnit(understood.lng, understood.lat));
      }}
    >
      <label for="find-text">Name, or a coordinate in any notation</label>
      <input
        id="find-text"
        class="text"
        value={text}
        autocomplete="off"
        onInput={(e) => setText(e.currentTarget.value)}
        aria-describedby="find-say"
      />
      <div id="find-say" class="dn" role="status">
        {understood !== null && (
          <p>
            Understood: <b>{coordinate(understood, notation.value, "", true)}</b>
            {outside && <span class="t-caution"> That is outside this plan's ground.</span>}
          </p>
        )}
        {understood?.warnings.map((w) => (
          <p key={w} class="t-caution">
            {w}
          </p>
        ))}
        {understood === null && problem !== "" && hits.length === 0 && <p class="mid">{problem}</p>}
      </div>
      <ul>
        {hits.map((h) => (
          <li key={h.name}>
            <button type="button" class="menu-row" onClick={() => done(h.go)}>
              {h.name}
            </button>
          </li>
        ))}
      </ul>
      {understood !== null && !outside && (
        <div class="acts">
          <button type="submit" class="btn primary">
            Put the unit here
          </button>
          <button
            type="button"
            class="btn"
            onClick={() =>
              done(() => {
                stage.value = "spots";
                mapPort.value?.show(understood.lng, understood.lat);
              })
            }
          >
            Show on the map
          </button>
        </div>
      )}
    </form>
  );
}
