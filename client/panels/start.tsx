import { count } from "../lib/format.ts";
import { faults } from "../state/notices.ts";
import { loading, openSample, plans, samples } from "../state/session.ts";
import { Icon } from "../ui/icon.tsx";
import { FaultBox } from "../ui/overlay.tsx";
import { Quiet } from "../ui/parts.tsx";
import { NewPlan, RasterDrop } from "./new-plan.tsx";
import { goToPlan } from "./plan-menu.tsx";

/** Nothing open yet: start a plan, or look at a finished one. */
export function Start() {
  return (
    <div class="scroll start">
      <NewPlan />
      <FaultBox fault={faults.value.start} />
      {(plans.value ?? []).length > 0 && (
        <section class="sec">
          <h2>Plans kept here</h2>
          <ul class="rows">
            {plans.value!.map((p) => (
              <li key={p.id}>
                <button type="button" class="row-link inset" onClick={() => goToPlan(p.id)}>
                  <b>{p.name}</b>
                  <span class="mid">
                    {count(p.points, "point")}, {count(p.parkingAreas, "parking area")}
                  </span>
                  <Icon name="hs-i-right" size="s" />
                </button>
              </li>
            ))}
          </ul>
        </section>
      )}
      <section class="sec finished">
        <h2>Or look at a finished plan</h2>
        {samples.value === null ? (
          faults.value.start === undefined && <Quiet rows={2} height={36} />
        ) : (
          <ul class="rows">
            {samples.value.map((s) => (
              <li key={s.id}>
                <button
                  type="button"
                  class="row-link inset"
                  disabled={loading.value}
                  onClick={() => void openSample(s.id)}
                >
                  <b>{s.name}</b>
                  <span class="mid">{s.description}</span>
                  <Icon name="hs-i-right" size="s" />
                </button>
              </li>
            ))}
          </ul>
        )}
      </section>
    </div>
  );
}
export const DropHere = RasterDrop;
