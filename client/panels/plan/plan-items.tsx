import { num } from "../../lib/format.ts";
import { type AnyFeature, featuresOf, idOf, type Kind, removeFeature, setGeometry } from "../../state/edit.ts";
import { editing, pickTool, startEditing } from "../../state/planning.ts";
import { CoordinateField } from "../../ui/coordinate-field.tsx";
import { Icon } from "../../ui/icon.tsx";
import { BackhaulForm, HazardForm, ParkingForm } from "./other-forms.tsx";
import { PointForm, peopleText } from "./point-form.tsx";

const HAZARD_ICON: Record<string, string> = {
  "power-line": "hs-power-line",
  "keep-out": "hs-keep-out",
  crowd: "hs-crowd",
  opening: "hs-opening",
  water: "hs-water",
  obstacle: "hs-caution",
};
function icon(kind: Kind, f: AnyFeature): string {
  if (kind === "points")
    return f.geometry.type === "Point"
      ? `hs-point-${String(f.properties.rung)}`
      : f.geometry.type === "LineString"
        ? "hs-route"
        : "hs-area";
  if (kind === "hazards") return HAZARD_ICON[String(f.properties.kind)] ?? "hs-caution";
  return { parking: "hs-parking", drops: "hs-drop", donors: "hs-donor" }[kind];
}
function about(kind: Kind, f: AnyFeature): string {
  const p = f.properties;
  if (kind === "points") return peopleText(f);
  if (kind === "parking")
    return p.waysOut === undefined
      ? "ways out not known"
      : ["no way out", "one way out", "two ways out"][Number(p.waysOut)]!;
  if (kind === "hazards")
    return p.kind === "power-line"
      ? p.voltageKv === undefined
        ? "voltage not known"
        : `${num(Number(p.voltageKv))} kV`
      : String(p.kind).replace("-", " ");
  return "";
}

function Form(props: { kind: Kind; id: string; feature: AnyFeature }) {
  const { kind, id, feature } = props;
  const form =
    kind === "points" ? (
      <PointForm id={id} feature={feature} />
    ) : kind === "parking" ? (
      <ParkingForm id={id} feature={feature} />
    ) : kind === "hazards" ? (
      <HazardForm id={id} feature={feature} />
    ) : (
      <BackhaulForm id={id} kind={kind} feature={feature} />
    );
  return (
    <div class="form">
      {form}
      {feature.geometry.type === "Point" && (
        <CoordinateField
          label="Coordinate"
          lng={feature.geometry.coordinates[0]!}
          lat={feature.geometry.coordinates[1]!}
          onPlace={(lng, lat) => setGeometry(kind, id, { type: "Point", coordinates: [lng, lat] })}
        />
      )}
      <div class="acts">
        <button
          type="button"
          class="btn"
          onClick={() => {
            editing.value = null;
          }}
        >
          Done
        </button>
        <button
          type="button"
          class="btn quiet"
          onClick={() => {
            editing.value = null;
            removeFeature(kind, id);
          }}
        >
          Take away
        </button>
      </div>
    </div>
  );
}

export function Items(props: { kind: Kind }) {
  const { kind } = props;
  return (
    <ul>
      {featuresOf(kind).map((f, i) => {
        const id = idOf(kind, f, i);
        const on = editing.value?.kind === kind && editing.value.id === id;
        return (
          <li key={id} class={`item plan-item ${on ? "sel" : ""}`}>
            <button
              type="button"
              class="item-head inset"
              aria-expanded={on}
              onClick={() => {
                if (on) editing.value = null;
                else startEditing(kind, id);
              }}
            >
              <Icon name={icon(kind, f)} class={`on-${kind}`} />
              <span>
                <b>{f.properties.name ?? id}</b> <span class="sub">{String(f.properties.code ?? "")}</span>
              </span>
              <span class="mid">{about(kind, f)}</span>
            </button>
            {on && <Form kind={kind} id={id} feature={f} />}
          </li>
        );
      })}
    </ul>
  );
}
export function Add(props: { tools: [string, string][] }) {
  return (
    <div class="add-row">
      {props.tools.map(([id, name]) => (
        <button key={id} type="button" class="btn quiet" onClick={() => pickTool(id)}>
          <Icon name="hs-i-plus" size="s" /> {name}
        </button>
      ))}
    </div>
  );
}
