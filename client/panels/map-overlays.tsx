import { count, length, num } from "../lib/format.ts";
import { bearing, mapPort, metresPerPixel } from "../map/state.ts";
import { cover, service, services, valueLayer } from "../state/layers.ts";
import { faults } from "../state/notices.ts";
import { result, spots } from "../state/runs.ts";
import { ground, groundWaiting, hazards, namesGround, parking, plan, points } from "../state/session.ts";
import {
  coverService,
  coverWhat,
  dialog,
  lengthUnit,
  letterKeys,
  listOpen,
  narrow,
  opacity,
  planId,
  type Show,
  show,
  stage,
} from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";
import { FaultBox } from "../ui/overlay.tsx";
import { LegendCard } from "./legend.tsx";
import { LensCard } from "./lens.tsx";
import { MapList } from "./map-list.tsx";
import { DrawTools } from "./plan/draw-tools.tsx";
import { DropHere } from "./start.tsx";

const SHOWS: { id: Show; name: string; key: string }[] = [
  { id: "score", name: "Score", key: "S" },
  { id: "coverage", name: "Coverage", key: "C" },
  { id: "sky", name: "Sky", key: "Y" },
  { id: "plan", name: "Plan only", key: "P" },
];

function ShowSwitch() {
  return (
    <fieldset class="seg card show" aria-label="Show on the map">
      <span class="lab" aria-hidden="true">
        Show
      </span>
      {SHOWS.map((s) => (
        <label
          key={s.id}
          class={show.value === s.id ? "on" : ""}
          title={letterKeys.value ? `${s.name} (${s.key})` : s.name}
        >
          <input
            type="radio"
            class="vh"
            name="show"
            checked={show.value === s.id}
            onChange={() => {
              show.value = s.id;
            }}
          />
          {s.name}
        </label>
      ))}
    </fieldset>
  );
}

/** Which service and quantity the coverage shows. */
function CoverChoice() {
  const c = cover.value;
  return (
    <div class="card cover-choice">
      <label>
        <span class="vh">Service</span>
        <select
          value={service.value?.id}
          onChange={(e) => {
            coverService.value = e.currentTarget.value;
          }}
        >
          {services.value.map((s) => (
            <option key={s.id} value={s.id}>
              {s.name ?? s.id}
            </option>
          ))}
        </select>
      </label>
      <label>
        <span class="vh">Quantity</span>
        <select
          value={coverWhat.value}
          onChange={(e) => {
            coverWhat.value = e.currentTarget.value as typeof coverWhat.value;
          }}
        >
          <option value="probability">chance of service</option>
          <option value="loss">path loss</option>
          <option value="level">level</option>
        </select>
      </label>
      {c !== null && c.answer === null && (
        <span class="dn mid" role="status">
          {c.run === null || c.run.total === 0
            ? "Working it out."
            : `${c.run.step}, ${num((100 * c.run.done) / c.run.total)} %.`}
        </span>
      )}
      <FaultBox fault={faults.value.cover} />
    </div>
  );
}

/** How strongly the value raster lies over the ground; the legend follows. */
function Strength() {
  const layer = valueLayer.value;
  return (
    <div id="strength" popover="auto" class="menu strength-menu">
      {layer === null ? (
        <p class="dn mid">No value layer is shown now.</p>
      ) : (
        <label class="strength">
          <span>Strength of the colours</span>
          <input
            type="range"
            min="0.2"
            max="1"
            step="0.02"
            value={opacity.value[layer.layer]}
            onInput={(e) => {
              opacity.value = { ...opacity.value, [layer.layer]: Number(e.currentTarget.value) };
            }}
          />
        </label>
      )}
    </div>
  );
}

function Tools() {
  const port = mapPort.value;
  return (
    <div class="maptools card" role="toolbar" aria-label="Map" aria-orientation="vertical">
      <button type="button" class="inset" aria-label="Closer" title="Closer" onClick={() => port?.zoomBy(1)}>
        <Icon name="hs-i-plus" />
      </button>
      <button type="button" class="inset" aria-label="Farther" title="Farther" onClick={() => port?.zoomBy(-1)}>
        <Icon name="hs-i-minus" />
      </button>
      <button
        type="button"
        class="inset"
        aria-label="Turn north up"
        title="Turn north up"
        onClick={() => port?.northUp()}
      >
        <span class="north" style={{ transform: `rotate(${-bearing.value}deg)` }}>
          <Icon name="hs-i-north" />
        </span>
      </button>
      <button
        type="button"
        class="inset"
        aria-label="Strength of the colours"
        title="Strength of the colours"
        popovertarget="strength"
      >
        <Icon name="hs-i-layers" />
      </button>
      <button
        type="button"
        class="inset"
        aria-label="List of what is on the map"
        title="List of what is on the map (L)"
        aria-expanded={listOpen.value}
        onClick={() => {
          listOpen.value = !listOpen.value;
        }}
      >
        <Icon name="hs-i-more" />
      </button>
      <button
        type="button"
        class="inset"
        aria-label="Find a name or a coordinate"
        title="Find a name or a coordinate (/)"
        onClick={() => {
          dialog.value = "find";
        }}
      >
        <Icon name="hs-i-search" />
      </button>
      <Strength />
    </div>
  );
}

/** A bar of a round length, measured on the map as drawn. */
function ScaleBar() {
  const per = metresPerPixel.value;
  const unit = lengthUnit.value;
  const step = unit === "ft" ? 0.3048 : 1;
  const most = (160 * per) / step;
  const power = 10 ** Math.floor(Math.log10(Math.max(1e-6, most)));
  const round = [5, 2, 1].map((f) => f * power).find((v) => v <= most) ?? power;
  const px = (round * step) / per;
  return (
    <div class="scale">
      <svg width={px + 2} height="10" aria-hidden="true">
        <path d={`M1 0v8H${px + 1}v-8M${px / 2 + 1} 4v4`} />
      </svg>
      <span>{length(round * step, unit, 0)}</span>
    </div>
  );
}

export function mapSummary(): string {
  const s = spots.value.length;
  return [
    plan.value?.name ?? "No plan",
    count(points.value?.features.length ?? 0, "point"),
    count(parking.value?.features.length ?? 0, "parking area"),
    count(hazards.value?.features.length ?? 0, "thing to keep clear of", "things to keep clear of"),
    s === 0 ? "no spots yet" : count(s, "ranked spot"),
  ].join(", ");
}

export function MapOverlays() {
  if (planId.value === null || (plan.value !== null && !namesGround(plan.value))) return <DropHere />;
  return (
    <>
      <p class="vh">{mapSummary()}. Press L for a list.</p>
      {stage.value === "plan" ? <DrawTools /> : <ShowSwitch />}
      {stage.value !== "plan" && show.value === "coverage" && <CoverChoice />}
      {groundWaiting.value && (
        <p class="card note" role="status">
          Reading the ground. The map fills in when it is done.
        </p>
      )}
      {faults.value.ground !== undefined && (
        <div class="card note">
          <FaultBox fault={faults.value.ground} />
        </div>
      )}
      <Tools />
      {stage.value !== "plan" && <LegendCard />}
      {ground.value !== null && !(narrow.value && result.value === null) && <ScaleBar />}
      <LensCard />
      <MapList />
    </>
  );
}
