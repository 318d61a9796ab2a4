import type { Rung } from "../../../src/plan/types.ts";
import { num } from "../../lib/format.ts";
import { type AnyFeature, setProperty } from "../../state/edit.ts";
import { plan } from "../../state/session.ts";
import { ChoiceField, NumberField, SegField, TextField } from "../../ui/fields.tsx";

const PLACE_NAMES = {
  outdoor: "in the open",
  tent: "in a tent",
  vehicle: "in a vehicle",
  "indoor-traditional": "indoors, older building",
  "indoor-efficient": "indoors, insulated building",
};
type Place = keyof typeof PLACE_NAMES;
export const peopleText = (f: AnyFeature): string => {
  const terminal = plan.value?.terminals.find((t) => t.id === f.properties.terminal) ?? plan.value?.terminals[0];
  const place = (f.properties.place as Place | undefined) ?? "outdoor";
  return `${terminal?.name ?? "terminal"}${place === "outdoor" ? "" : `, ${PLACE_NAMES[place]}`}`;
};

/** Form of one point, area or route, in the words of who stands there. */
export function PointForm(props: { id: string; feature: AnyFeature }) {
  const { id, feature } = props;
  const p = feature.properties;
  const set = (key: string) => (value: unknown) => setProperty("points", id, key, value);
  const doc = plan.value;
  if (doc === null) return null;
  const area = feature.geometry.type !== "Point";
  const all = doc.unit.services.flatMap((s) =>
    s.needs.map((n) => ({ id: `${s.id}/${n.id}`, name: `${s.name ?? s.id}, ${n.name ?? n.id}` })),
  );
  const chosen = (p.needs as string[] | undefined) ?? [];
  const terminal = doc.terminals.find((t) => t.id === p.terminal) ?? doc.terminals[0];
  const place = (p.place as Place | undefined) ?? "outdoor";
  return (
    <>
      <div class="form-pair wide-first">
        <TextField label="Name" value={p.name} where="points" name="name" set={set("name")} />
        <TextField
          label="Code"
          value={p.code as string | undefined}
          max={4}
          where="points"
          name="code"
          set={set("code")}
        />
      </div>
      <SegField<Rung>
        label="Need"
        value={p.rung as Rung}
        options={[
          { id: "must", name: "Must" },
          { id: "should", name: "Should" },
          { id: "nice", name: "Nice" },
        ]}
        set={set("rung")}
      />
      <div class="form-pair">
        <ChoiceField<Place>
          label="Where people are"
          value={place}
          options={(Object.keys(PLACE_NAMES) as Place[]).map((k) => ({ id: k, name: PLACE_NAMES[k] }))}
          set={set("place")}
        />
        <ChoiceField
          label="With"
          value={terminal?.id ?? ""}
          options={doc.terminals.map((t) => ({ id: t.id, name: t.name ?? t.id }))}
          set={set("terminal")}
        />
      </div>
      <p class="help">{lossText(place, terminal)}</p>
      <div class="form-pair">
        <NumberField
          label={area ? "Share that must be served" : "Chance that must be reached"}
          unit="%"
          value={p.targetPct as number | undefined}
          fallback={{ must: "95", should: "90", nice: "80" }[p.rung as Rung]}
          where="points"
          name="targetPct"
          set={set("targetPct")}
        />
        <NumberField
          label="Height above ground"
          unit="m"
          value={p.heightM as number | undefined}
          fallback={terminal?.heightM === undefined ? "1.5" : String(terminal.heightM)}
          where="points"
          name="heightM"
          set={set("heightM")}
        />
      </div>
      <fieldset class="form-field">
        <legend>Services</legend>
        <div class="ticks-row">
          {all.map((n) => (
            <label key={n.id}>
              <input
                type="checkbox"
                checked={chosen.includes(n.id)}
                onChange={(e) => {
                  const next = e.currentTarget.checked ? [...chosen, n.id] : chosen.filter((c) => c !== n.id);
                  if (next.length > 0) setProperty("points", id, "needs", next);
                  else e.currentTarget.checked = true;
                }}
              />
              {n.name}
            </label>
          ))}
        </div>
      </fieldset>
    </>
  );
}
function lossText(
  place: Place,
  terminal: { bodyLossDb?: number | undefined; vehicleLossDb?: number | undefined } | undefined,
): string {
  const parts: string[] = [];
  if (place === "vehicle") parts.push(`${num(terminal?.vehicleLossDb ?? 8)} dB off for the vehicle`);
  if (place.startsWith("indoor")) parts.push("the building's entry loss off (Rec. ITU-R P.2109)");
  if ((terminal?.bodyLossDb ?? 0) > 0) parts.push(`${num(terminal?.bodyLossDb)} dB for the body`);
  return parts.length === 0 ? "" : `Takes ${parts.join(" and ")}.`;
}
