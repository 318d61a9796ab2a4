import type { Spot } from "../../src/plan/outputs/types.ts";
import { coordinate } from "../lib/coordinate.ts";
import { degrees, height, length, num, orbit } from "../lib/format.ts";
import { result, selectedSpot, spots, stale } from "../state/runs.ts";
import { plan } from "../state/session.ts";
import { lengthUnit, select, stage } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";
import { Flag, Slab, Status } from "../ui/parts.tsx";
import { checkName, foundText, needText, standChecks } from "./check-table.tsx";
import { cautions } from "./data-line.tsx";
import { ROLE } from "./ledger-row.tsx";
import { inOrder, served } from "./point-table.tsx";
import { reasonLines } from "./reasons.tsx";

/** What the crew gets: one page per spot, in black on white when printed. */
export function HandOver() {
  const spot = selectedSpot.value;
  if (spot === null)
    return (
      <div class="scroll">
        <header class="ph">
          <h1>Hand over</h1>
        </header>
        <div class="empty">
          <p>No spot to hand over yet. Run the plan and choose one under Spots; its page for the crew appears here.</p>
          <button
            type="button"
            class="btn"
            onClick={() => {
              stage.value = "spots";
            }}
          >
            Spots
          </button>
        </div>
      </div>
    );
  const offered = spots.value.filter((s) => s.role !== "none" || s.id === spot.id);
  return (
    <div class="scroll hand-over">
      <header class="ph no-print">
        <div class="row1">
          <h1>Hand over</h1>
          <button type="button" class="btn primary" onClick={() => print()}>
            <Icon name="hs-i-print" size="s" /> Print
          </button>
        </div>
        {stale.value && (
          <Flag tone="caution" icon="hs-caution">
            From before the last changes. Run again before handing it over.
          </Flag>
        )}
        <ul class="sheet-choice">
          {offered.map((s) => (
            <li key={s.id}>
              <button type="button" aria-pressed={s.id === spot.id} onClick={() => select(s.id)}>
                <Slab text={s.rank} kind={s.id === spot.id ? "selected" : s.feasible ? "full" : "open"} />
                <span>
                  <b>{s.name}</b>
                  <span class="sm sub block">{ROLE[s.role] || "no role"}</span>
                </span>
              </button>
            </li>
          ))}
        </ul>
      </header>
      <Sheet spot={spot} />
    </div>
  );
}

function Sheet(props: { spot: Spot }) {
  const { spot } = props;
  const unit = lengthUnit.value;
  const at = { lng: spot.lng, lat: spot.lat };
  const rank = result.value?.rank;
  const u = plan.value?.unit;
  const hours = u?.fuelL !== undefined && u.burnLPerH !== undefined ? u.fuelL / u.burnLPerH : null;
  return (
    <article class="sheet" aria-label={`Site sheet: spot ${spot.rank}`}>
      <h2>
        Site sheet: spot {spot.rank}, {spot.name}
      </h2>
      <p class="mid">
        {plan.value?.name}. {ROLE[spot.role]}
      </p>
      <dl class="places">
        <div>
          <dt>USNG (land teams)</dt>
          <dd>{coordinate(at, "usng", spot.usng, true)}</dd>
        </div>
        <div>
          <dt>Degrees and minutes (aviation)</dt>
          <dd>{coordinate(at, "dm")}</dd>
        </div>
        <div>
          <dt>Decimal degrees</dt>
          <dd>{coordinate(at, "dd", "", true)}</dd>
        </div>
        <div>
          <dt>Ground</dt>
          <dd>{height(spot.groundAmslM, unit)}</dd>
        </div>
        <div>
          <dt>Park facing, true</dt>
          <dd>{spot.headingDeg === null ? "any way" : degrees(spot.headingDeg, 0)}</dd>
        </div>
      </dl>
      <h3>Why here</h3>
      <ul class="dots">
        {reasonLines(spot).map((r) => (
          <li key={r.text}>{r.text}</li>
        ))}
      </ul>
      <h3>Point the dish</h3>
      {spot.satellites.length === 0 ? (
        <p>The plan names no satellite.</p>
      ) : (
        <table>
          <thead>
            <tr>
              <th>Satellite</th>
              <th class="n">Compass</th>
              <th class="n">True</th>
              <th class="n">Tilt up</th>
              <th class="n">Skew</th>
              <th>View</th>
            </tr>
          </thead>
          <tbody>
            {spot.satellites.map((v) => (
              <tr key={v.id}>
                <th scope="row">{orbit(v.satelliteDeg)}</th>
                <td class="n b">{degrees(v.azimuthMagneticDeg)}</td>
                <td class="n">{degrees(v.azimuthDeg)}</td>
                <td class="n">{degrees(v.elevationRefractedDeg)}</td>
                <td class="n">{degrees(v.skewDeg)}</td>
                <td>
                  {v.clear === null
                    ? "unknown"
                    : v.clear
                      ? "clear"
                      : `blocked${v.blockedBy === null ? "" : ` by ${v.blockedBy.name}`}`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <p class="sm mid">Read the compass 5 m from steel. Values hold for {rank?.provenance.date}.</p>
      <h3>Stand</h3>
      <table>
        <tbody>
          {standChecks(spot).map((c) => (
            <tr key={c.id}>
              <td class="mark-col">
                <Status status={c.status} />
              </td>
              <th scope="row">{checkName(c.id)}</th>
              <td class="n b">{foundText(c) ?? c.status}</td>
              <td class="n">{needText(c)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <h3>Points</h3>
      <table>
        <thead>
          <tr>
            <th>Point</th>
            <th>Need</th>
            <th class="n">Chance</th>
            <th class="n">Target</th>
          </tr>
        </thead>
        <tbody>
          {inOrder(spot.points).map((p) => (
            <tr key={p.id + p.need}>
              <th scope="row">
                {p.met === false && <Icon name="hs-short" size="s" class="inline" label="falls short" />}
                {p.name}
              </th>
              <td>{p.rung}</td>
              <td class="n b">{served(p)}</td>
              <td class="n">{num(p.target * 100)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <div class="before">
        <b>Before you raise the mast: look up and live.</b>{" "}
        {standChecks(spot)
          .filter((c) => /^(power-line|fall-zone|exhaust|access)/.test(c.id))
          .map((c) => c.text)
          .join(" ")}{" "}
        {u === undefined ? "" : `Tip at ${length(u.tipHeightM, unit)}.`}{" "}
        {hours === null ? "" : `A full tank lasts about ${num(hours)} h.`} At first thunder get indoors; nobody touches
        the mast until 30 min after the last. Local codes and licensed practice come first.
      </div>
      <p class="sm mid">
        Prediction, not a promise. Not a survey, structural, electrical or RF-safety certificate. The crew may reject
        any spot. {cautions().join(" ")} {rank?.provenance.models.map((m) => m.id).join(", ")}, seed{" "}
        {rank?.provenance.seed}, version {rank?.provenance.version}.
      </p>
    </article>
  );
}
