import type { Spot } from "../../src/plan/outputs/types.ts";
import { layoutStrip } from "../lib/strip.ts";
import { faults } from "../state/notices.ts";
import { earlier, noFeasible, result, resultLoading, running, spots, stale, startRun } from "../state/runs.ts";
import { changes, loading, missing } from "../state/session.ts";
import { dialog, narrow } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";
import { FaultBox } from "../ui/overlay.tsx";
import { Flag, Quiet } from "../ui/parts.tsx";
import { changesText } from "./bar.tsx";
import { GroundUse } from "./ground-use.tsx";
import { LedgerRow } from "./ledger-row.tsx";
import { NoFeasible } from "./no-feasible.tsx";
import { StripHead } from "./reach-strip.tsx";
import { RunProgress } from "./run-progress.tsx";

function groupOf(spot: Spot): { key: string; text: string; icon: string } {
  if (spot.checks.some((c) => c.status === "fail" && !c.id.startsWith("dish") && !c.id.startsWith("sky")))
    return { key: "stand", text: "Not safe to stand on as it is", icon: "hs-nogo" };
  if (spot.mustsShort > 0) return { key: "short", text: "A must falls short", icon: "hs-short" };
  if (!spot.feasible) return { key: "blocked", text: "Not usable as it is", icon: "hs-nogo" };
  if (spot.mustsUnknown > 0) return { key: "unknown", text: "A must is unknown", icon: "hs-unknown" };
  return { key: "served", text: "Every must is served", icon: "hs-pass" };
}

/** Ranked spots: a table of small charts, to be read down for hard points and across for a spot. */
export function Ledger() {
  const all = spots.value;
  const layout = layoutStrip(
    all.map((s) => s.points),
    narrow.value ? 262 : 298,
  );
  const groups: { key: string; text: string; icon: string; spots: Spot[] }[] = [];
  for (const s of all) {
    const g = groupOf(s);
    const last = groups.at(-1);
    if (last?.key === g.key) last.spots.push(s);
    else groups.push({ ...g, spots: [s] });
  }
  const rows = groups.map((g) => (
    <section key={`${g.key}${g.spots[0]!.id}`} aria-label={g.text}>
      <h2 class="group">
        <Icon name={g.icon} size="s" /> {g.text}{" "}
        <span class="sub">
          {g.spots.length} {g.spots.length === 1 ? "spot" : "spots"}
          {g.key === "short" && g.spots.length > 1 ? ", best first" : ""}
        </span>
      </h2>
      <ol>
        {g.spots.map((s) => (
          <LedgerRow key={s.id} spot={s} layout={layout} />
        ))}
      </ol>
    </section>
  ));
  return (
    <>
      <RunProgress />
      <FaultBox fault={faults.value.run} />
      {result.value === null ? (
        <EmptyLedger />
      ) : noFeasible.value ? (
        <NoFeasible>
          <div class="codes">
            <span />
            <StripHead layout={layout} />
            <span class="r">Score</span>
          </div>
          {rows}
        </NoFeasible>
      ) : (
        <div class={`scroll ${stale.value || running.value !== null ? "old" : ""}`}>
          <header class="ph">
            <div class="row1">
              <h1>Spots</h1>
              {stale.value ? (
                <Flag tone="caution" icon="hs-caution">
                  {earlier.value ? "from an earlier run" : `from before ${changesText(changes.value)}`}
                </Flag>
              ) : (
                <button
                  type="button"
                  class="link dn"
                  onClick={() => {
                    dialog.value = "order";
                  }}
                >
                  How the order is made
                </button>
              )}
            </div>
            <GroundUse />
          </header>
          <div class="codes">
            <span />
            <StripHead layout={layout} />
            <span class="r">{layout.folded > 0 ? `+${layout.folded}, Score` : "Score"}</span>
          </div>
          {rows}
        </div>
      )}
    </>
  );
}

function EmptyLedger() {
  if (resultLoading.value || loading.value)
    return (
      <div class="scroll" aria-busy="true">
        <header class="ph">
          <h1>Spots</h1>
          <p class="mid dn">Reading the results.</p>
        </header>
        <Quiet rows={6} height={58} />
      </div>
    );
  const need = missing.value;
  return (
    <div class="scroll">
      <header class="ph">
        <h1>Spots</h1>
      </header>
      <div class="empty">
        {running.value !== null ? (
          <p>The first results appear here when the run has put them in order.</p>
        ) : need.length > 0 ? (
          <p>No spots yet. A run needs {need.join(" and ")}; add them under Plan.</p>
        ) : (
          <>
            <p>
              No spots yet. A run tries every square metre of parking and lists the best places, each with its reasons.
            </p>
            <button type="button" class="btn primary" onClick={() => void startRun()}>
              Run
            </button>
          </>
        )}
      </div>
    </div>
  );
}
