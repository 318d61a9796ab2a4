import { type AnyFeature, type Kind, setProperty } from "../../state/edit.ts";
import { ChoiceField, NumberField, TextField } from "../../ui/fields.tsx";

const setter = (kind: Kind, id: string) => (key: string) => (value: unknown) => setProperty(kind, id, key, value);

export function ParkingForm(props: { id: string; feature: AnyFeature }) {
  const p = props.feature.properties;
  const set = setter("parking", props.id);
  return (
    <>
      <TextField label="Name" value={p.name} where="parking" name="name" set={set("name")} />
      <div class="form-pair">
        <ChoiceField
          label="Ways out"
          value={p.waysOut === undefined ? "" : String(p.waysOut)}
          options={[
            { id: "", name: "not known" },
            { id: "0", name: "none for a towing vehicle" },
            { id: "1", name: "one, reverse in" },
            { id: "2", name: "two" },
          ]}
          set={(v) => set("waysOut")(v === "" ? undefined : Number(v))}
        />
        <ChoiceField
          label="Surface"
          value={(p.surface as string | undefined) ?? ""}
          options={[
            { id: "", name: "not known" },
            { id: "hard", name: "hard" },
            { id: "gravel", name: "gravel" },
            { id: "grass", name: "grass" },
            { id: "soft", name: "soft" },
          ]}
          set={(v) => set("surface")(v === "" ? undefined : v)}
        />
      </div>
      <NumberField
        label="Parking heading, true north"
        unit="°"
        value={p.headingDeg as number | undefined}
        fallback="any"
        where="parking"
        name="headingDeg"
        set={set("headingDeg")}
      />
    </>
  );
}

const HELP: Record<string, string> = {
  "power-line": "With no voltage given, the larger distance is used. Ask the utility. Look up and live.",
  "keep-out": "No part of the footprint may lie inside.",
  crowd: "Kept out of the mast's fall zone.",
  opening: "Doors, windows and air intakes: generator exhaust stays away from them.",
  water: "Water and soft ground: nothing parks there.",
  obstacle: "Stands in the way of signals and of the dish, like a building.",
};
export function HazardForm(props: { id: string; feature: AnyFeature }) {
  const p = props.feature.properties;
  const kind = String(p.kind);
  const set = setter("hazards", props.id);
  return (
    <>
      <TextField label="Name" value={p.name} where="hazards" name="name" hazard={kind} set={set("name")} />
      {kind === "power-line" && (
        <>
          <div class="form-pair">
            <NumberField
              label="Voltage"
              unit="kV"
              value={p.voltageKv as number | undefined}
              fallback="not known"
              where="hazards"
              name="voltageKv"
              hazard={kind}
              set={set("voltageKv")}
            />
            <NumberField
              label="Line height"
              unit="m"
              value={p.heightM as number | undefined}
              fallback="not known"
              where="hazards"
              name="heightM"
              hazard={kind}
              set={set("heightM")}
            />
          </div>
          {p.voltageKv === undefined && (
            <label class="check">
              <input
                type="checkbox"
                checked={p.upTo350Kv === true}
                onChange={(e) => set("upTo350Kv")(e.currentTarget.checked ? true : undefined)}
              />
              Certainly no more than 350 kV
            </label>
          )}
        </>
      )}
      {kind === "obstacle" && (
        <NumberField
          label="Height"
          unit="m"
          value={p.heightM as number | undefined}
          where="hazards"
          name="heightM"
          hazard={kind}
          set={set("heightM")}
        />
      )}
      {kind === "crowd" && (
        <NumberField
          label="People"
          unit=""
          value={p.users as number | undefined}
          fallback="not known"
          where="hazards"
          name="users"
          hazard={kind}
          set={set("users")}
        />
      )}
      <p class="help">{HELP[kind]}</p>
    </>
  );
}

export function BackhaulForm(props: { id: string; kind: "drops" | "donors"; feature: AnyFeature }) {
  const p = props.feature.properties;
  const set = setter(props.kind, props.id);
  return (
    <>
      <TextField label="Name" value={p.name} where={props.kind} name="name" set={set("name")} />
      {props.kind === "drops" ? (
        <NumberField
          label="Cable from the drop"
          unit="m"
          value={p.cableM as number | undefined}
          fallback="100"
          where="drops"
          name="cableM"
          set={set("cableM")}
        />
      ) : (
        <div class="form-pair">
          <NumberField
            label="Frequency"
            unit="MHz"
            value={p.frequencyMHz as number | undefined}
            where="donors"
            name="frequencyMHz"
            set={set("frequencyMHz")}
          />
          <NumberField
            label="Antenna height"
            unit="m"
            value={p.antennaHeightM as number | undefined}
            where="donors"
            name="antennaHeightM"
            set={set("antennaHeightM")}
          />
        </div>
      )}
    </>
  );
}
