import { MapView } from "./map/map-view.tsx";
import { Bar } from "./panels/bar.tsx";
import { Bench } from "./panels/bench.tsx";
import { ComparePanel } from "./panels/compare.tsx";
import { DataLine } from "./panels/data-line.tsx";
import { Dialogs } from "./panels/dialogs.tsx";
import { HandOver } from "./panels/hand-over.tsx";
import { Ledger } from "./panels/ledger.tsx";
import { MapOverlays } from "./panels/map-overlays.tsx";
import { PhoneTabs } from "./panels/phone-tabs.tsx";
import { PlanPanel } from "./panels/plan/plan-panel.tsx";
import { SlabStrip } from "./panels/slab-strip.tsx";
import { SpotPage } from "./panels/spot-page.tsx";
import { Start } from "./panels/start.tsx";
import { TrialPanel } from "./panels/trial-panel.tsx";
import { faults } from "./state/notices.ts";
import { selectedSpot } from "./state/runs.ts";
import { loading, plan, resolveConflict } from "./state/session.ts";
import { trial } from "./state/trial.ts";
import { compared, folded, narrow, opened, phoneTab, planId, stage } from "./state/view.ts";
import { Explain } from "./ui/explain.tsx";
import { FaultBox, Live, ToastBox } from "./ui/overlay.tsx";
import { Quiet } from "./ui/parts.tsx";

const NAMES = { plan: "Plan", spots: "Spots", handover: "Hand over" } as const;

function PanelBody() {
  if (planId.value === null) return <Start />;
  if (plan.value === null)
    return loading.value ? (
      <div class="scroll" aria-busy="true">
        <header class="ph">
          <h1>Opening the plan</h1>
        </header>
        <Quiet rows={7} />
      </div>
    ) : (
      <FaultBox fault={faults.value.plan} />
    );
  if (stage.value === "plan") return <PlanPanel />;
  if (stage.value === "handover") return <HandOver />;
  if (trial.value !== null) return <TrialPanel />;
  if (compared.value.length === 2) return <ComparePanel />;
  if (opened.value && selectedSpot.value !== null) return <SpotPage spot={selectedSpot.value} />;
  return <Ledger />;
}

export function App() {
  const comparing = stage.value === "spots" && compared.value.length === 2 && trial.value === null;
  const fold = folded.value && !narrow.value && planId.value !== null;
  const layout = fold ? "folded" : comparing ? "wide" : "";
  return (
    <>
      <div class={`app on-${narrow.value ? phoneTab.value : "desk"}`}>
        <Bar />
        <main class={`work ${layout}`}>
          <aside
            class="panel"
            data-region="panel"
            tabIndex={-1}
            aria-label={planId.value === null ? "Start" : NAMES[stage.value]}
          >
            <FaultBox fault={faults.value.save}>
              {faults.value.save?.code === "http.conflict" && (
                <>
                  <button type="button" class="btn" onClick={() => void resolveConflict("theirs")}>
                    Take the stored plan
                  </button>
                  <button type="button" class="btn" onClick={() => void resolveConflict("mine")}>
                    Keep mine
                  </button>
                </>
              )}
            </FaultBox>
            {fold ? <SlabStrip /> : <PanelBody />}
          </aside>
          <div class="stage">
            <section class="map" data-region="map" tabIndex={-1} aria-label="Map">
              <MapView />
              <MapOverlays />
              <ToastBox />
            </section>
            <Bench />
            <DataLine />
          </div>
        </main>
        {narrow.value && <PhoneTabs />}
      </div>
      <Dialogs />
      <Explain />
      <Live />
    </>
  );
}
