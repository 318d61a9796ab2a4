import { useEffect, useId, useState } from "preact/hooks";
import { HardstandError } from "../../src/errors/index.ts";
import { parseCoordinate } from "../../src/geodesy/parse.ts";
import { coordinate } from "../lib/coordinate.ts";
import { ground } from "../state/session.ts";
import { notation } from "../state/view.ts";
import { Icon } from "./icon.tsx";

/** Takes any notation, says what it understood, warns of the usual slips; nothing moves until Enter or leaving it. */
export function CoordinateField(props: {
  label: string;
  lng: number;
  lat: number;
  onPlace: (lng: number, lat: number) => void;
}) {
  const id = useId();
  const shown = coordinate(props, notation.value, "", true);
  const [text, setText] = useState(shown);
  useEffect(() => setText(shown), [shown]);
  let problem = "";
  let warnings: string[] = [];
  let place: { lng: number; lat: number } | null = null;
  if (text !== shown) {
    try {
      const p = parseCoordinate(text);
      place = p.place;
      warnings = p.warnings.map((w) => w.text);
    } catch (thrown) {
      problem = thrown instanceof HardstandError ? `${thrown.message}. ${thrown.body.hint}` : String(thrown);
    }
  }
  const b = ground.value?.bounds;
  if (place !== null && b !== undefined) {
    const inside = (lng: number, lat: number): boolean => lng >= b[0] && lng <= b[2] && lat >= b[1] && lat <= b[3];
    if (!inside(place.lng, place.lat))
      problem = inside(place.lat, place.lng)
        ? "Latitude and longitude look swapped."
        : "That is outside this plan's ground.";
  }
  const commit = (): void => {
    if (place !== null && problem === "") props.onPlace(place.lng, place.lat);
    else if (problem === "") setText(shown);
  };
  return (
    <div class="form-field">
      <label for={id}>{props.label}</label>
      <input
        id={id}
        class={`text ${problem === "" ? "" : "wrong"}`}
        value={text}
        autocomplete="off"
        aria-describedby={`${id}-say`}
        aria-invalid={problem !== ""}
        onInput={(e) => setText(e.currentTarget.value)}
        onBlur={commit}
        onKeyDown={(e) => {
          if (e.key === "Enter") {
            e.preventDefault();
            commit();
          }
        }}
      />
      <p id={`${id}-say`} class={`help ${problem === "" ? "" : "t-nogo"}`}>
        {problem !== "" ? (
          <>
            <Icon name="hs-nogo" size="s" /> {problem}
          </>
        ) : place !== null ? (
          `Understood: ${coordinate(place, notation.value, "", true)}`
        ) : (
          warnings.join(" ")
        )}
      </p>
    </div>
  );
}
