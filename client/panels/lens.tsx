import { coordinate } from "../lib/coordinate.ts";
import { length, num } from "../lib/format.ts";
import { closeLens, lens } from "../state/layers.ts";
import { result } from "../state/runs.ts";
import { putUnit } from "../state/trial.ts";
import { lengthUnit, notation } from "../state/view.ts";
import { Num } from "../ui/explain.tsx";
import { Icon } from "../ui/icon.tsx";

/** The value of the picked cell, its unit and its reason, read from the run's own arrays. */
export function LensCard() {
  const l = lens.value;
  if (l === null) return null;
  const cell = l.cell;
  const side = result.value?.rank.parking.cellM;
  const whole = coordinate(l, notation.value, cell?.usng);
  // Zone and square are the same all over a plan; the page's own coordinate line has them.
  const place = notation.value === "usng" ? whole.replace(/^\S+ [A-Z]{2} /, "") : whole;
  return (
    <section class="card lens" aria-label="Picked cell" role="status">
      <div class="row1">
        <b>Cell at {place}</b>
        <span class="sub nw">
          {side === undefined
            ? ""
            : `${num(side, side < 10 && side % 1 !== 0 ? 1 : 0)} × ${length(side, lengthUnit.value, side % 1 === 0 ? 0 : 1)}`}
        </span>
        <button type="button" class="btn icon quiet tiny" aria-label="Close" onClick={closeLens}>
          <Icon name="hs-i-close" size="s" />
        </button>
      </div>
      {l.text !== null && <p class="mid">{l.text}</p>}
      {cell === null && l.text === null && <p class="mid">Reading the cell.</p>}
      {cell !== null && (
        <>
          {cell.screenedScore !== null && (
            <p>
              Score{" "}
              <Num
                why={() => ({
                  title: "Score of this cell",
                  value: `about ${num(cell.screenedScore, 1)} of 100`,
                  sentence: "From screening every cell at once. Put the unit here for the full prediction.",
                  rows: [
                    {
                      name: "99 of 100 cells lie within",
                      value: `${num(result.value?.rank.screening.deltaScore, 1)}`,
                      source: "screened against full, this run",
                    },
                  ],
                })}
              >
                about {num(cell.screenedScore)}
              </Num>
            </p>
          )}
          {cell.reasonText !== "" && <p class="mid">{cell.reasonText}</p>}
          {cell.screenedScore === null && cell.reason === null && cell.inParking && (
            <p class="t-unk">Unknown: there are no data for this cell.</p>
          )}
          <button
            type="button"
            class="link"
            onClick={() => {
              closeLens();
              putUnit(l.lng, l.lat);
            }}
          >
            Put the unit here
          </button>
        </>
      )}
    </section>
  );
}
