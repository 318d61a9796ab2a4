import { num } from "../lib/format.ts";
import { keepSpot } from "../state/edit.ts";
import { faults } from "../state/notices.ts";
import { dropTrial, putBack, putUnit, trial } from "../state/trial.ts";
import { CoordinateField } from "../ui/coordinate-field.tsx";
import { Icon } from "../ui/icon.tsx";
import { FaultBox } from "../ui/overlay.tsx";
import { Flag, Slab } from "../ui/parts.tsx";
import { CheckTable } from "./check-table.tsx";
import { PointTable } from "./point-table.tsx";
import { Reasons } from "./reasons.tsx";
import { PlaceLine } from "./spot-page.tsx";

const PHASE = {
  dragging: "about, from screening",
  checking: "working out the full prediction",
  final: "full prediction",
};

/** The lifted copy of the unit: at once from screening while it moves, in full once it stands. */
export function TrialPanel() {
  const t = trial.value;
  if (t === null) return null;
  const cell = t.cell;
  const final = t.phase === "final";
  const spot = cell?.spot ?? null;
  const score = final && spot !== null ? spot.score : (cell?.screenedScore ?? null);
  return (
    <div class="scroll">
      <header class="ph spot-head">
        <div class="spot-title">
          <Slab text="?" kind="open" big />
          <div>
            <h1>Trial spot</h1>
            <p class="dn mid" role="status">
              {PHASE[t.phase]}
            </p>
          </div>
          <div class="r">
            <span class="figure-text">{score === null ? "–" : `${final ? "" : "about "}${num(score)}`}</span>
            <div class="sm sub">score of 100</div>
          </div>
        </div>
        <PlaceLine lng={t.lng} lat={t.lat} usng={cell?.usng ?? ""} groundAmslM={spot?.groundAmslM} />
        <div class="acts">
          {t.phase === "dragging" ? (
            <button type="button" class="btn primary" onClick={dropTrial}>
              Check it in full
            </button>
          ) : (
            <button
              type="button"
              class="btn primary"
              disabled={!final}
              onClick={() => {
                keepSpot(t);
                putBack();
              }}
            >
              Keep as spot
            </button>
          )}
          <button type="button" class="btn" onClick={putBack}>
            Put back
          </button>
        </div>
        <FaultBox fault={faults.value.cell} />
        {cell !== null && cell.reasonText !== "" && (
          <p class="trial-reason">
            <Flag
              tone={cell.reason === null ? "caution" : "nogo"}
              icon={cell.reason === null ? "hs-caution" : "hs-nogo"}
            >
              {cell.reason === null ? "Not parking" : "Struck out"}
            </Flag>{" "}
            {cell.reasonText}
          </p>
        )}
        {cell !== null && cell.screenedScore === null && cell.reasonText === "" && !final && (
          <p class="dn t-unk">Unknown: screening has no value for this cell.</p>
        )}
      </header>
      {spot !== null && spot.reasons.length > 0 && final && (
        <section class="sec">
          <h2>What it does</h2>
          <Reasons spot={spot} />
        </section>
      )}
      {spot !== null && <CheckTable spot={spot} />}
      {spot !== null && spot.points.length > 0 && <PointTable spot={spot} />}
      {spot === null && cell === null && <p class="empty mid">Checking this place.</p>}
      <section class="sec">
        <CoordinateField label="Put it at a coordinate" lng={t.lng} lat={t.lat} onPlace={putUnit} />
        <p class="sm mid">
          <Icon name="hs-unit" size="s" class="inline" /> Drag it on the map, or press M and use the arrow keys: 1 m,
          with Shift 10 m.
        </p>
      </section>
    </div>
  );
}
