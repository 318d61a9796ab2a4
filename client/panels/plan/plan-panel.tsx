import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { count, length, num, orbit } from "../../lib/format.ts";
import { type AnyFeature, featuresOf, idOf, type Kind, removeFeature, setGeometry } from "../../state/edit.ts";
import { editing, pickTool, startEditing } from "../../state/planning.ts";
import { ground, missing, plan, stored } from "../../state/session.ts";
import { lengthUnit } from "../../state/view.ts";
import { CoordinateField } from "../../ui/coordinate-field.tsx";
import { loadChecks, wrongFields } from "../../ui/fields.tsx";
import { Icon } from "../../ui/icon.tsx";
import { Flag } from "../../ui/parts.tsx";
import { FileTools } from "./file-tools.tsx";
import { BackhaulForm, HazardForm, ParkingForm } from "./other-forms.tsx";
import { PointForm, peopleText } from "./point-form.tsx";
import { UnitForm } from "./unit-form.tsx";

function Part(props: { name: string; sum: string; ok: boolean; open?: boolean; children: ComponentChildren }) {
  return (
    <details name="plan-part" class="part" open={props.open}>
      <summary class="inset">
        <Icon name="hs-i-right" size="s" class="turn" />
        <b>{props.name}</b>
        <span class="mid">{props.sum}</span>
        {props.ok ? (
          <Icon name="hs-pass" size="s" class="t-pass" label="there" />
        ) : (
          <Icon name="hs-unknown" size="s" class="t-unk" label="still missing" />
        )}
      </summary>
      {props.children}
    </details>
  );
}
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

function Items(props: { kind: Kind }) {
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
function Add(props: { tools: [string, string][] }) {
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

export function PlanPanel() {
  useEffect(loadChecks, []);
  const doc = plan.value;
  if (doc === null) return null;
  const points = featuresOf("points");
  const rung = (r: string): number => points.filter((f) => f.properties.rung === r).length;
  const hazards = featuresOf("hazards");
  const g = ground.value;
  const open = editing.value?.kind;
  const problems = stored.value?.problems ?? [];
  const wrong = wrongFields.value.size;
  return (
    <>
      <header class="ph row1">
        <h1>Plan</h1>
        <FileTools />
      </header>
      <div class="scroll">
        <Part name="Ground" sum={g === null ? "reading" : count(g.datasets.length, "data set")} ok={g !== null}>
          <ul class="inner">
            {g?.datasets.map((d) => (
              <li key={d.kind + d.file} class="data-row">
                <b>{d.text}</b>
                <code class="sm sub">{d.file}</code>
              </li>
            ))}
            {g?.warnings.map((w) => (
              <li key={w.code + w.text}>
                <Flag tone="caution" icon="hs-caution">
                  {w.text}
                </Flag>
              </li>
            ))}
          </ul>
        </Part>
        <Part
          name="Who needs service"
          sum={`${rung("must")} must, ${rung("should")} should, ${rung("nice")} nice`}
          ok={points.length > 0}
          open={open === undefined || open === "points"}
        >
          <Items kind="points" />
          <Add
            tools={[
              ["point", "Point"],
              ["area", "Area"],
              ["route", "Route"],
            ]}
          />
        </Part>
        <Part
          name="Where it may stand"
          sum={count(featuresOf("parking").length, "area")}
          ok={featuresOf("parking").length > 0}
          open={open === "parking"}
        >
          <Items kind="parking" />
          <Add tools={[["parking", "Parking area"]]} />
        </Part>
        <Part
          name="What to keep clear of"
          sum={hazards.length === 0 ? "nothing drawn" : count(hazards.length, "thing")}
          ok={hazards.length > 0}
          open={open === "hazards"}
        >
          <Items kind="hazards" />
          <Add
            tools={[
              ["power", "Power line"],
              ["keep-out", "Keep out"],
              ["crowd", "Crowd"],
            ]}
          />
        </Part>
        <Part
          name="The unit and its services"
          sum={`${length(doc.unit.tipHeightM, lengthUnit.value)} tip, ${count(doc.unit.services.length, "service")}${doc.unit.dish ? ", dish" : ""}`}
          ok
        >
          <UnitForm />
        </Part>
        <Part
          name="Way back to the network"
          sum={(doc.backhaul?.order ?? ["satellite"]).join(", then ")}
          ok={(doc.satellites?.length ?? 0) + featuresOf("drops").length + featuresOf("donors").length > 0}
          open={open === "drops" || open === "donors"}
        >
          <ul class="inner">
            {(doc.satellites ?? []).map((s) => (
              <li key={s.id} class="data-row">
                <b>{orbit(s.longitudeDeg)}</b>
                <span class="mid">{s.role === "alternate" ? "reserve" : "first choice"}</span>
              </li>
            ))}
          </ul>
          <Items kind="drops" />
          <Items kind="donors" />
          <Add tools={[["drop", "Wired drop"]]} />
        </Part>
      </div>
      <div class="plan-foot dn" role="status">
        {wrong > 0 ? (
          <Flag tone="caution" icon="hs-caution">
            {count(wrong, "field")} to fix before the next run
          </Flag>
        ) : problems.length > 0 ? (
          <Flag tone="caution" icon="hs-caution">
            {problems[0]!.message}
          </Flag>
        ) : missing.value.length > 0 ? (
          <span class="mid">A run still needs {missing.value.join(" and ")}.</span>
        ) : (
          <Flag tone="pass" icon="hs-pass">
            Ready to run
          </Flag>
        )}
      </div>
    </>
  );
}
