import { orbit } from "../lib/format.ts";
import { detailSky } from "../state/detail.ts";
import { legend, valueLayer } from "../state/layers.ts";
import { faults } from "../state/notices.ts";
import { noFeasible, running, stale } from "../state/runs.ts";
import { trial } from "../state/trial.ts";
import { compared, narrow, opacity, opened, show } from "../state/view.ts";
import { FaultBox } from "../ui/overlay.tsx";

/** Always there with its layer, from the same table as the tiles, drawn with the map's own opacity. */
export function LegendCard() {
  if (show.value === "sky") return <SkyLegend />;
  const layer = valueLayer.value;
  const l = legend.value;
  if (faults.value.legend !== undefined && layer !== null)
    return (
      <div class="card legend">
        <FaultBox fault={faults.value.legend} />
      </div>
    );
  if (layer === null || l === null) return null;
  const strength = opacity.value[layer.layer];
  const about = layer.layer === "score" ? (noFeasible.value ? "no cell serves every must" : l.unit) : l.unit;
  return (
    <section
      class={`card legend ${stale.value || running.value !== null ? "old" : ""}`}
      aria-label={`Legend: ${l.title}`}
    >
      <h2>
        {l.title} <span>{about}</span>
      </h2>
      <div class="ramp" role="img" aria-label={l.classes.map((c) => c.label).join(", ")}>
        {l.classes.map((c) => (
          <i key={c.label} title={c.label}>
            <b style={{ background: c.color, opacity: strength }} />
          </i>
        ))}
      </div>
      <div class="ticks" aria-hidden="true">
        {l.classes.map((c, i) =>
          c.from === null ? null : (
            <span key={c.label} class={i === 0 ? "first" : ""} style={{ left: `${(i / l.classes.length) * 100}%` }}>
              {String(c.from).replace("-", "\u2212")}
            </span>
          ),
        )}
      </div>
      {l.patterns.length > 0 && (
        <details
          class="pattern-keys"
          open={!(narrow.value || opened.value || compared.value.length === 2 || trial.value !== null)}
        >
          <summary class="inset">Struck out and unknown ground</summary>
          <ul class="keys">
            {l.patterns.map((p) => (
              <li key={p.reason}>
                <img alt="" width="20" height="14" src={`data:image/svg+xml,${encodeURIComponent(p.svg)}`} />
                {p.label}
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function SkyLegend() {
  const sky = detailSky.value.answer;
  return (
    <section class="card legend" aria-label="Legend: directions to the satellites">
      <h2>Directions to the satellites</h2>
      {sky === null ? (
        <p class="sm mid">
          {detailSky.value.loading ? "Working out the sky." : "Select a spot to see which way its satellites stand."}
        </p>
      ) : (
        <ul class="keys one">
          {sky.satellites.map((s) => (
            <li key={s.id}>
              <svg width="20" height="14" aria-hidden="true">
                <path class="bearing-key" d="M0 7h20" />
              </svg>
              {orbit(s.satelliteDeg)}:{" "}
              {s.clear === null
                ? "unknown"
                : s.clear
                  ? "clear"
                  : `blocked by ${s.blockedBy?.name ?? "something solid"}`}
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
