import type { Spot } from "../../src/plan/outputs/types.ts";
import { coordinate, NOTATION_NAME } from "../lib/coordinate.ts";
import { height, num } from "../lib/format.ts";
import { say } from "../state/notices.ts";
import { stale } from "../state/runs.ts";
import { closeSpot, compareWith, lengthUnit, narrow, notation, stage } from "../state/view.ts";
import { Num } from "../ui/explain.tsx";
import { Icon } from "../ui/icon.tsx";
import { Flag, Slab } from "../ui/parts.tsx";
import { CheckTable } from "./check-table.tsx";
import { scoreExplanation } from "./explanations.ts";
import { ROLE } from "./ledger-row.tsx";
import { PointTable } from "./point-table.tsx";
import { Reasons } from "./reasons.tsx";

const DECIDED: Record<Spot["decidedBy"], string> = {
  first: "first in the order",
  stand: "placed by the stand checks",
  musts: "placed by the musts",
  "unknown-musts": "placed by what is unknown",
  score: "placed by score",
  redundancy: "tied; placed by a second way back",
  backhaul: "tied; placed by the way back",
  clearance: "tied; placed by dish clearance",
  access: "tied; placed by access",
  order: "tied; nothing tells them apart",
};

export function PlaceLine(props: { lng: number; lat: number; usng: string; groundAmslM: number | null | undefined }) {
  const n = notation.value;
  const text = coordinate(props, n, props.usng);
  const copy = (): void => {
    void navigator.clipboard?.writeText(coordinate(props, n, props.usng, true)).then(() => say("Coordinate copied."));
  };
  return (
    <div class="place dn">
      <b>{text}</b>
      <span class="sub">{NOTATION_NAME[n]}, to 10 m</span>
      {props.groundAmslM !== undefined && (
        <span class="mid nw">ground {height(props.groundAmslM, lengthUnit.value)}</span>
      )}
      <button type="button" class="btn quiet small" onClick={copy}>
        <Icon name="hs-i-copy" size="s" /> Copy
      </button>
    </div>
  );
}

/** One spot: why here, may it stand here, does the dish see, whom does it serve. */
export function SpotPage(props: { spot: Spot }) {
  const { spot } = props;
  const role = ROLE[spot.role];
  return (
    <div class={`scroll ${stale.value ? "old" : ""}`}>
      <header class="ph spot-head">
        {!narrow.value && (
          <button type="button" class="btn quiet small back" onClick={closeSpot}>
            <Icon name="hs-i-left" size="s" /> All spots
          </button>
        )}
        <div class="spot-title">
          <Slab text={spot.rank} kind="selected" big />
          <div>
            <h1>{spot.name}</h1>
            <p class="dn mid">
              {role === "" ? "" : `${role} · `}
              {DECIDED[spot.decidedBy]}
            </p>
          </div>
          <div class="r">
            <Num class="figure" why={() => scoreExplanation(spot)}>
              {num(spot.score)}
            </Num>
            <div class="sm sub">score of 100</div>
          </div>
        </div>
        {stale.value && (
          <Flag tone="caution" icon="hs-caution">
            From before the last changes. Run again for new numbers.
          </Flag>
        )}
        <PlaceLine {...spot} />
        <div class="acts">
          <button type="button" class="btn" onClick={() => compareWith(spot.id)}>
            <Icon name="hs-i-compare" size="s" /> Compare
          </button>
          <button
            type="button"
            class="btn"
            onClick={() => {
              stage.value = "handover";
            }}
          >
            <Icon name="hs-i-sheet" size="s" /> Site sheet
          </button>
        </div>
      </header>
      <section class="sec">
        <h2>Why here</h2>
        <Reasons spot={spot} />
      </section>
      <CheckTable spot={spot} />
      <PointTable spot={spot} />
      {spot.backhaul.length > 0 && (
        <section class="sec">
          <h2>Way back to the network</h2>
          <ul class="why">
            {spot.backhaul.map((b) => (
              <li key={b.kind + b.text}>
                <span class={b.status === "pass" ? "t-pass" : b.status === "fail" ? "t-nogo" : "t-unk"}>
                  <Icon
                    name={b.status === "pass" ? "hs-pass" : b.status === "fail" ? "hs-nogo" : "hs-unknown"}
                    label={b.status === "fail" ? "not there" : b.status}
                  />
                </span>
                <span>{b.text}</span>
              </li>
            ))}
          </ul>
        </section>
      )}
    </div>
  );
}
