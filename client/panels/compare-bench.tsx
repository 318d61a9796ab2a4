import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import type { PathAnswer } from "../../src/plan/outputs/types.ts";
import { SectionChart } from "../charts/section-chart.tsx";
import { length, signed } from "../lib/format.ts";
import { worstPerPoint } from "../lib/strip.ts";
import { pathTo, serviceOf } from "../state/detail.ts";
import { fault, faults } from "../state/notices.ts";
import { lengthUnit, planId } from "../state/view.ts";
import { FaultBox } from "../ui/overlay.tsx";
import { comparedSpots } from "./compare.tsx";
import { comparePoint } from "./compare-point.ts";
import { served } from "./point-table.tsx";

const sections = signal<{ key: string; answers: (PathAnswer | null)[] }>({ key: "", answers: [] });

/** Two sections to the same point. */
export function CompareBench() {
  const both = comparedSpots();
  const pointId = both === null ? null : comparePoint(...both);
  const plan = planId.value;
  const key = both === null || pointId === null ? "" : `${both[0].id}/${both[1].id}/${pointId}`;
  useEffect(() => {
    if (both === null || pointId === null || plan === null) return;
    const stop = new AbortController();
    sections.value = { key, answers: [null, null] };
    both.forEach((s, i) => {
      const service = serviceOf(s, pointId);
      if (service === null) return;
      pathTo(plan, s, pointId, service, stop.signal)
        .then((answer) => {
          if (stop.signal.aborted || sections.value.key !== key) return;
          const answers = [...sections.value.answers];
          answers[i] = answer;
          sections.value = { key, answers };
        })
        .catch((thrown) => {
          if (!stop.signal.aborted) fault("path", "The cross-section could not be worked out.", thrown);
        });
    });
    return () => stop.abort();
  }, [key, plan]);
  if (both === null || pointId === null) return null;
  const unit = lengthUnit.value;
  return (
    <>
      {both.map((s, i) => {
        const p = sections.value.key === key ? sections.value.answers[i] : null;
        const point = worstPerPoint(s.points).get(pointId);
        const name = point?.name ?? pointId;
        return (
          <figure key={s.id}>
            <figcaption>
              <b>
                {s.rank} to {name}
              </b>
              <span class="sub">{p ? length(p.distanceM, unit, 0) : ""}</span>
            </figcaption>
            {p ? (
              <SectionChart
                path={p}
                from={`Unit, ${length(p.from.heightM, unit)}`}
                to={length(p.to.heightM, unit)}
                summary={`Cross-section from spot ${s.rank} to ${name}`}
                live={false}
              />
            ) : faults.value.path !== undefined ? (
              <FaultBox fault={faults.value.path} />
            ) : (
              <p class="mid dn">Working out the line.</p>
            )}
            <div class="foot">
              <span class="mid">
                {point === undefined
                  ? ""
                  : `Margin ${point.marginDb === null ? "unknown" : `${signed(point.marginDb)} dB`}, chance ${served(point)}`}
              </span>
            </div>
          </figure>
        );
      })}
    </>
  );
}
