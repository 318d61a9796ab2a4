import { SectionChart, sampleText } from "../charts/section-chart.tsx";
import { horizonText, SkyChart, viewText } from "../charts/sky-chart.tsx";
import { height, length, num, orbit } from "../lib/format.ts";
import { bulgeOf, lossTerms, sectionGeometry } from "../lib/section.ts";
import { detailPath, detailSky, place, sectionPoint } from "../state/detail.ts";
import { faults } from "../state/notices.ts";
import { plan, points } from "../state/session.ts";
import { putUnit, trial } from "../state/trial.ts";
import { along, bearings, benchTab, compared, lengthUnit, narrow, opened, stage } from "../state/view.ts";
import { Num } from "../ui/explain.tsx";
import { FaultBox } from "../ui/overlay.tsx";
import { CompareBench } from "./compare-bench.tsx";
import { pathExplanation } from "./explanations.ts";

export function pointName(id: string | null): string {
  const spot = place.value?.spot;
  const found = spot?.points.find((p) => p.id === id);
  if (found) return found.name;
  return points.value?.features.find((f) => f.properties.id === id)?.properties.name ?? id ?? "";
}

function SectionFigure() {
  const p = detailPath.value.answer;
  const unit = lengthUnit.value;
  const name = pointName(sectionPoint.value);
  const from = place.value?.name ?? "";
  if (p === null)
    return (
      <figure class="tab-section">
        <figcaption>
          <b>
            {from} to {name}
          </b>
        </figcaption>
        <FaultBox fault={faults.value.path} />
        {detailPath.value.loading && <p class="mid dn">Working out the line.</p>}
      </figure>
    );
  const at = along.value.alongM;
  const bulge = bulgeOf(p);
  const stretch = sectionGeometry(p, 560, 240).stretch;
  const sight =
    p.lineOfSight === null
      ? "line of sight unknown"
      : p.lineOfSight
        ? "line of sight is free"
        : "line of sight is blocked";
  const caption = `${length(p.distanceM, unit, 0)}, heights × ${num(Math.max(1, stretch))}, ${unit === "ft" ? "feet" : "metres"} above sea level`;
  const summary = `Cross-section from ${from} to ${name}, ${length(p.distanceM, unit, 0)}; ${sight}${p.worstObstruction ? `; ${p.worstObstruction.name} at ${length(p.worstObstruction.distanceM, unit, 0)}` : ""}. Arrow keys walk along it.`;
  return (
    <figure class="tab-section">
      <figcaption>
        <b>
          {from} to {name}
        </b>
        <span class="sub">{caption}</span>
      </figcaption>
      <SectionChart
        path={p}
        from={`Unit, ${length(p.from.heightM, unit)}`}
        to={`${name}, ${length(p.to.heightM, unit)}`}
        summary={summary}
      />
      <div class="foot">
        <span class="mid">{at === undefined ? <LossLine /> : sampleText(p, at)}</span>
        {at === undefined && (
          <span class="sub nw" title="The ray bends below the straight chord by this much at its middle">
            Earth bulge {length(bulge, unit, bulge < 0.095 ? 2 : 1)}
          </span>
        )}
      </div>
    </figure>
  );
}

function LossLine() {
  const p = detailPath.value.answer;
  if (p === null) return null;
  if (p.lossDb === null) return <>Loss unknown: {num(p.unknownShare * 100)} % of this path has no ground data.</>;
  const terms = lossTerms(p);
  return (
    <>
      {terms.map((t, i) => (
        <span key={t.name}>
          {i > 0 ? " + " : ""}
          {t.name} <b>{num(t.value, 1)}</b>
        </span>
      ))}{" "}
      = loss <Num why={() => pathExplanation(p)}>{num(p.lossDb, 1)} dB</Num>
    </>
  );
}

function SkyFigure() {
  const sky = detailSky.value.answer;
  const unit = lengthUnit.value;
  if (sky === null)
    return (
      <figure class="tab-sky">
        <figcaption>
          <b>Sky</b>
        </figcaption>
        <FaultBox fault={faults.value.sky} />
        {detailSky.value.loading && <p class="mid dn">Working out the sky.</p>}
      </figure>
    );
  const at = along.value.azimuthDeg;
  const moving = sky.satellites.flatMap((s) => (s.clear === true ? [] : s.advice)).find((a) => a.kind !== "none");
  const d = sky.declinationDeg;
  const compass = bearings.value === "compass";
  const same = Math.abs(d) < 0.05;
  const axis = same
    ? "Azimuth, true north. The compass reads the same here"
    : compass
      ? `Azimuth by compass, ${num(Math.abs(d), 1)}° ${d >= 0 ? "less" : "more"} than true`
      : `Azimuth, true north. Compass reads ${num(Math.abs(d), 1)}° ${d >= 0 ? "less" : "more"}`;
  return (
    <figure class="tab-sky">
      <figcaption>
        <b>Sky from eye height {length(sky.eyeHeightM, unit)}</b>
        {plan.value?.unit.dish?.apart === true && <span class="sub">dish may stand apart</span>}
      </figcaption>
      <SkyChart
        sky={sky}
        axis={axis}
        summary={`Horizon seen from the dish. ${sky.satellites.map(viewText).join("; ") || "No satellites in the plan"}. Arrow keys walk along it.`}
      />
      <div class="foot">
        <span class="mid">
          {at !== undefined
            ? horizonText(sky, at)
            : (moving?.text ??
              (sky.satellites.length === 0
                ? "The plan names no satellite."
                : clearText(sky.satellites.map((s) => (s.clear === true ? orbit(s.satelliteDeg) : "")))))}
        </span>
        {at === undefined && moving?.lng !== undefined && moving.lat !== undefined && (
          <button type="button" class="link" onClick={() => putUnit(moving.lng!, moving.lat!)}>
            Move it there
          </button>
        )}
        {at === undefined && moving === undefined && sky.groundAmslM !== null && (
          <span class="sub">ground {height(sky.groundAmslM, unit)}</span>
        )}
      </div>
    </figure>
  );
}
const clearText = (names: string[]): string => {
  const clear = names.filter((n) => n !== "");
  return clear.length === 0
    ? "No satellite of the plan is clear from here."
    : `${clear.join(" and ")} ${clear.length === 1 ? "is" : "are"} clear.`;
};

/** Under the map, because the cross-section is the map cut open. */
export function Bench() {
  if (stage.value !== "spots") return null;
  const comparing = compared.value.length === 2 && trial.value === null;
  const showing = comparing || opened.value || (trial.value !== null && trial.value.phase !== "dragging");
  if (!showing) return null;
  return (
    <section
      class={`bench show-${benchTab.value}`}
      data-region="bench"
      tabIndex={-1}
      aria-label="Cross-section and sky"
    >
      {comparing ? (
        <CompareBench />
      ) : (
        <>
          {!narrow.value && (
            <div class="tabs" role="tablist" aria-label="Charts">
              {(["section", "sky"] as const).map((t) => (
                <button
                  key={t}
                  type="button"
                  role="tab"
                  aria-selected={benchTab.value === t}
                  onClick={() => {
                    benchTab.value = t;
                  }}
                >
                  {t === "section" ? "Cross-section" : "Sky"}
                </button>
              ))}
            </div>
          )}
          <SectionFigure />
          <SkyFigure />
        </>
      )}
    </section>
  );
}
