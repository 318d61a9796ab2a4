import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { count, length, orbit } from "../../lib/format.ts";
import { featuresOf } from "../../state/edit.ts";
import { editing } from "../../state/planning.ts";
import { ground, missing, plan, stored } from "../../state/session.ts";
import { lengthUnit } from "../../state/view.ts";
import { loadChecks, wrongFields } from "../../ui/fields.tsx";
import { Icon } from "../../ui/icon.tsx";
import { Flag } from "../../ui/parts.tsx";
import { FileTools } from "./file-tools.tsx";
import { GroundPart } from "./ground-part.tsx";
import { Add, Items } from "./plan-items.tsx";
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
        <Part name="Ground" sum={g === null ? "not read yet" : count(g.datasets.length, "data set")} ok={g !== null}>
          <GroundPart />
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
