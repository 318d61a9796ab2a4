import type { Spot } from "../../src/plan/outputs/types.ts";
import { num, orbit } from "../lib/format.ts";
import type { StripLayout } from "../lib/strip.ts";
import { compareWith, hovered, openSpot, select, selected, stage } from "../state/view.ts";
import { Flag, Slab } from "../ui/parts.tsx";
import { ReachStrip } from "./reach-strip.tsx";
import { Reasons } from "./reasons.tsx";

export const ROLE = {
  primary: "Primary",
  alternate: "Alternate",
  contingency: "Contingency",
  emergency: "Emergency",
  none: "",
};

/** The loudest single thing about a spot, or nothing. */
function SpotFlag(props: { spot: Spot }) {
  const s = props.spot;
  const failed = s.checks.filter((c) => c.status === "fail" && !c.id.startsWith("dish") && !c.id.startsWith("sky"));
  if (s.mustsShort > 0)
    return (
      <Flag tone="nogo" icon="hs-short">
        {s.mustsShort} {s.mustsShort === 1 ? "must" : "musts"} short
      </Flag>
    );
  if (failed.length > 0)
    return (
      <Flag tone="nogo" icon="hs-nogo">
        {failed.length === 1 ? "1 no-go" : `${failed.length} no-goes`}
      </Flag>
    );
  if (s.mustsUnknown > 0)
    return (
      <Flag tone="unk" icon="hs-unknown">
        {s.mustsUnknown} unknown
      </Flag>
    );
  const blocked = s.satellites.filter((v) => v.clear === false);
  const first = blocked[0];
  if (first)
    return (
      <Flag tone="caution" icon="hs-caution">
        {blocked.length === s.satellites.length && blocked.length > 1
          ? "no clear sky"
          : `${orbit(first.satelliteDeg)} blocked`}
      </Flag>
    );
  const cautions = s.checks.filter((c) => c.status === "caution").length;
  if (cautions > 0)
    return (
      <Flag tone="caution" icon="hs-caution">
        {cautions} {cautions === 1 ? "caution" : "cautions"}
      </Flag>
    );
  return null;
}

export function LedgerRow(props: { spot: Spot; layout: StripLayout }) {
  const { spot } = props;
  const on = selected.value === spot.id;
  return (
    <li
      id={`spot-${spot.id}`}
      class={`spot ${on ? "sel" : ""}`}
      aria-current={on ? "true" : undefined}
      onPointerEnter={() => {
        hovered.value = { kind: "spot", id: spot.id };
      }}
      onPointerLeave={() => {
        hovered.value = null;
      }}
    >
      <Slab text={spot.rank} kind={on ? "selected" : spot.feasible ? "full" : "open"} />
      <div class="spot-main">
        <div class="nm">
          <button
            type="button"
            class="spot-name"
            aria-expanded={on}
            onClick={() => select(spot.id)}
            onDblClick={() => openSpot(spot.id)}
            onKeyDown={(e) => {
              if (e.key === "Enter") {
                e.preventDefault();
                if (on) openSpot(spot.id);
                else select(spot.id);
              }
            }}
          >
            <span class="vh">Spot {spot.rank}, </span>
            {spot.name}
          </button>
          <span class="role">{ROLE[spot.role]}</span>
          <span class="push">
            <SpotFlag spot={spot} />
          </span>
        </div>
        <ReachStrip layout={props.layout} points={spot.points} spot={spot.id} />
      </div>
      <div class={`sc ${spot.feasible ? "" : "dim"}`}>
        <span class="vh">score </span>
        {num(spot.score)}
        {on && <small>of 100</small>}
        {spot.tied && !on && <small>tied</small>}
      </div>
      {on && <RowMore spot={spot} />}
    </li>
  );
}

function RowMore(props: { spot: Spot }) {
  const { spot } = props;
  return (
    <>
      <Reasons spot={spot} most={3} />
      <div class="acts">
        <button type="button" class="btn primary" onClick={() => openSpot(spot.id)}>
          Open spot
        </button>
        <button type="button" class="btn" onClick={() => compareWith(spot.id)}>
          Compare
        </button>
        <button
          type="button"
          class="btn"
          onClick={() => {
            stage.value = "handover";
          }}
        >
          Site sheet
        </button>
      </div>
    </>
  );
}
