import { signal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { bearings, type CoordinateNotation, lengthUnit, letterKeys, notation } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";

const NOTATIONS: { id: CoordinateNotation; name: string }[] = [
  { id: "usng", name: "USNG" },
  { id: "utm", name: "UTM" },
  { id: "dm", name: "Degrees, minutes" },
  { id: "dms", name: "Degrees, minutes, seconds" },
  { id: "dd", name: "Decimal degrees" },
];
const SHORT: Record<CoordinateNotation, string> = { usng: "USNG", utm: "UTM", dm: "DM.m", dms: "DMS", dd: "DD" };
const seen = signal(0);

function Choice<T extends string>(props: {
  legend: string;
  name: string;
  value: T;
  options: { id: T; name: string }[];
  set: (v: T) => void;
}) {
  return (
    <fieldset class="choice">
      <legend>{props.legend}</legend>
      {props.options.map((o) => (
        <label key={o.id}>
          <input type="radio" name={props.name} checked={props.value === o.id} onChange={() => props.set(o.id)} />
          {o.name}
        </label>
      ))}
    </fieldset>
  );
}

export function UnitsChoice(): ComponentChildren {
  const group = seen.peek();
  return (
    <>
      <Choice
        legend="Lengths"
        name={`length${group}`}
        value={lengthUnit.value}
        options={[
          { id: "m", name: "metres" },
          { id: "ft", name: "feet" },
        ]}
        set={(v) => {
          lengthUnit.value = v;
        }}
      />
      <Choice
        legend="Coordinates"
        name={`notation${group}`}
        value={notation.value}
        options={NOTATIONS}
        set={(v) => {
          notation.value = v;
        }}
      />
      <Choice
        legend="Bearings"
        name={`bearing${group}`}
        value={bearings.value}
        options={[
          { id: "true", name: "true north" },
          { id: "compass", name: "compass" },
        ]}
        set={(v) => {
          bearings.value = v;
        }}
      />
      <label class="check">
        <input
          type="checkbox"
          checked={letterKeys.value}
          onChange={(e) => {
            letterKeys.value = e.currentTarget.checked;
          }}
        />
        Single-letter keys
      </label>
    </>
  );
}

export function UnitsMenu() {
  return (
    <>
      <button
        type="button"
        class="btn"
        popovertarget="units-menu"
        aria-haspopup="true"
        aria-label={`Units: ${lengthUnit.value}, ${SHORT[notation.value]}`}
      >
        {lengthUnit.value} · {SHORT[notation.value]} <Icon name="hs-i-down" size="s" />
      </button>
      <div id="units-menu" popover="auto" class="menu right">
        <UnitsChoice />
      </div>
    </>
  );
}
