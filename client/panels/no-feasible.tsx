import type { ComponentChildren } from "preact";
import type { RejectReason } from "../../src/plan/outputs/types.ts";
import type { Plan } from "../../src/plan/types.ts";
import { area, num } from "../lib/format.ts";
import { mapPort } from "../map/state.ts";
import { result, spots, startRun } from "../state/runs.ts";
import { change, plan } from "../state/session.ts";
import { putUnit } from "../state/trial.ts";
import { lengthUnit, openSpot, select, selected } from "../state/view.ts";
import { Num } from "../ui/explain.tsx";
import { Icon } from "../ui/icon.tsx";
import { Slab } from "../ui/parts.tsx";

const AFTER: Record<RejectReason, string> = {
  footprint: "the footprint fits",
  slope: "level enough",
  "keep-out": "outside keep-outs",
  water: "off the water",
  obstacle: "clear of objects",
  "power-line": "clear of power lines",
  crowd: "clear of crowds",
  opening: "clear of doors",
  sky: "dish sees a satellite",
};
const sentence = (text: string): string => (/[.!?]$/.test(text) ? text : `${text}.`);

/** An answer, not a fault: where the ground went, the nearest misses, the smallest changes. */
export function NoFeasible(props: { children: ComponentChildren }) {
  const rank = result.value?.rank;
  if (rank === undefined) return null;
  const some = rank.nearestMisses.some((m) => m.fixes.length > 0);
  return (
    <div class="scroll">
      <header class="ph">
        <h1>No spot serves every must</h1>
        <p class="mid">
          The run finished: every square metre of parking was tried.{" "}
          {some
            ? "One change would be enough; the smallest ones come first."
            : "No single change tried would be enough."}
        </p>
      </header>
      <WhereItWent />
      <section class="sec flush">
        <h2>Nearest misses, and what would fix them</h2>
        <ol>
          {rank.nearestMisses.map((m, i) => {
            const spot = spots.value.find((s) => Math.abs(s.lng - m.lng) < 1e-7 && Math.abs(s.lat - m.lat) < 1e-7);
            const on = spot !== undefined && spot.id === selected.value;
            return (
              <li key={m.usng} class={`item ${on ? "sel" : ""}`}>
                <Slab text={spot === undefined ? "ABC"[i]! : spot.rank} kind={on ? "selected" : "open"} />
                <div>
                  <button
                    type="button"
                    class="plain b"
                    onClick={() => {
                      if (spot) select(spot.id);
                      mapPort.value?.show(m.lng, m.lat);
                    }}
                  >
                    {spot?.name ?? m.usng}
                  </button>
                  <p class="t-nogo dn b">
                    <Icon name="hs-short" size="s" class="inline" />
                    {m.text}
                  </p>
                  <p class="dn mid">
                    {m.fixes.length === 0
                      ? "No single change fixes it."
                      : m.fixes.map((f) => sentence(f.text)).join(" ")}
                  </p>
                  <div class="acts">
                    {spot !== undefined && on && (
                      <button type="button" class="btn" onClick={() => openSpot(spot.id)}>
                        Open spot
                      </button>
                    )}
                    {spot === undefined && (
                      <button type="button" class="btn" onClick={() => putUnit(m.lng, m.lat)}>
                        Put the unit here
                      </button>
                    )}
                  </div>
                </div>
              </li>
            );
          })}
        </ol>
      </section>
      <TryAChange />
      {props.children}
    </div>
  );
}

function WhereItWent() {
  const rank = result.value!.rank;
  const unit = lengthUnit.value;
  let left = rank.parking.totalHectares;
  const rows = [{ name: "Parking drawn", left }];
  for (const r of rank.rejected)
    if (r.hectares > 0) {
      left = Math.max(0, left - r.hectares);
      rows.push({ name: AFTER[r.reason], left });
    }
  rows.push({ name: "and serves every must", left: 0 });
  return (
    <section class="sec">
      <h2>
        Where the ground went <span class="sub">left after each test</span>
      </h2>
      <table class="went">
        <tbody>
          {rows.map((r, i) => (
            <tr key={r.name}>
              <th scope="row" class={i === rows.length - 1 ? "b" : ""}>
                {r.name}
              </th>
              <td>
                <svg width="100%" height="14" aria-hidden="true">
                  <rect class="all" x="0.5" y="0.5" width="99.5%" height="13" />
                  <rect
                    class="left"
                    x="0"
                    y="0"
                    width={`${(100 * r.left) / Math.max(1e-9, rank.parking.totalHectares)}%`}
                    height="14"
                  />
                </svg>
              </td>
              <td class="n b">
                {i === rows.length - 1 ? (
                  <span class="t-nogo">none</span>
                ) : (
                  <Num
                    why={() => ({
                      title: r.name,
                      value: area(r.left, unit),
                      sentence:
                        "Ground left after this test; each cell is taken out once, by the first test it does not pass.",
                      rows: [{ name: "Cell", value: `${num(rank.parking.cellM, 1)} m`, source: "working grid" }],
                    })}
                  >
                    {area(r.left, unit)}
                  </Num>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

interface Trial {
  name: string;
  text: string;
  edit: (p: Plan) => Plan;
}
/** Changes the page can make by itself: a taller mast, stronger terminals, one must less. */
function trials(): Trial[] {
  const rank = result.value!.rank;
  const p = plan.value;
  if (p === null) return [];
  const out: Trial[] = [];
  const masts = rank.nearestMisses
    .flatMap((m) => m.fixes)
    .filter((f) => /mast|tip/i.test(f.text) && f.unit === "m" && f.amount > 0)
    .map((f) => f.amount);
  if (masts.length > 0) {
    const more = Math.min(...masts);
    out.push({
      name: `Tip at ${num(p.unit.tipHeightM + more)} m`,
      text: `${num(more)} m more than now. Check that the mast can do it, and every distance that grows with it.`,
      edit: (doc) => ({
        ...doc,
        unit: {
          ...doc.unit,
          tipHeightM: doc.unit.tipHeightM + more,
          ...(doc.unit.antennaHeightM === undefined ? {} : { antennaHeightM: doc.unit.antennaHeightM + more }),
        },
      }),
    });
  }
  const first = spots.value[0];
  const short = first?.points.filter((x) => x.rung === "must" && x.met === false) ?? [];
  for (const s of short.slice(0, 2))
    out.push({
      name: `${s.name}: should instead of must`,
      text: `It would still count in the score. Now ${num(s.shortDb, 1)} dB short at the nearest miss.`,
      edit: (doc) =>
        typeof doc.points === "string"
          ? doc
          : {
              ...doc,
              points: {
                ...doc.points,
                features: doc.points.features.map((f) =>
                  f.properties.id === s.id ? { ...f, properties: { ...f.properties, rung: "should" as const } } : f,
                ),
              },
            },
    });
  return out;
}
function TryAChange() {
  const list = trials();
  if (list.length === 0) return null;
  return (
    <section class="sec">
      <h2>
        Try a change <span class="sub">Undo takes it back, results and all</span>
      </h2>
      <ul class="rows">
        {list.map((t, i) => (
          <li key={t.name} class="try">
            <div>
              <b>{t.name}</b>
              <p class="dn mid">{t.text}</p>
            </div>
            <button
              type="button"
              class={`btn ${i === 0 ? "primary" : ""}`}
              onClick={() => {
                change(`Tried: ${t.name}`, t.edit);
                void startRun();
              }}
            >
              Try it
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}
