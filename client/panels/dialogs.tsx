import { num } from "../lib/format.ts";
import { changesSince } from "../lib/history.ts";
import { result } from "../state/runs.ts";
import { ground, history } from "../state/session.ts";
import { dialog } from "../state/view.ts";
import { Dialog } from "../ui/overlay.tsx";
import { cautions } from "./data-line.tsx";
import { Find } from "./find.tsx";
import { RunHistory } from "./run-history.tsx";

const close = (): void => {
  dialog.value = null;
};
const KEYS: [string, string][] = [
  ["1 2 3", "Plan, Spots, Hand over"],
  ["J / K", "next, previous spot"],
  ["Enter / Esc", "open / back, drop, close"],
  ["R / Shift+R", "run / cancel"],
  ["S C Y P", "show score, coverage, sky, plan only"],
  ["X", "compare with the selected one"],
  ["Ctrl+Z / Ctrl+Shift+Z", "undo, redo"],
  ["M, then arrows", "pick up and move the unit; Enter drops"],
  ["A, then a letter", "add: P point, A area, R route, K parking, H power line"],
  ["?", "explain the number that has the focus"],
  ["[", "fold the panel"],
  ["F6", "next region"],
  ["L", "list of what is on the map"],
  ["/", "find, or type a coordinate"],
];
const ORDER: [string, string][] = [
  ["Stand", "slope, footprint, keep-outs, power line, fall zone: a no-go strikes the ground out"],
  ["Musts", "every must-point reaches its target, and there is a way back to the network"],
  ["Score", "weighted chance of service over all points, 0 to 100"],
  ["Ties", "within half a point: second way back, dish clearance, access"],
];

function Rows(props: { rows: [string, string][] }) {
  return (
    <table>
      <tbody>
        {props.rows.map(([a, b]) => (
          <tr key={a}>
            <th scope="row" class="b nw">
              {a}
            </th>
            <td>{b}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function DataAndCautions() {
  const rank = result.value?.rank;
  const g = ground.value;
  return (
    <>
      <p>
        Prediction, not a promise. Walk the spot before anyone relies on it; local codes and licensed practice come
        first.
      </p>
      <h3>Cautions</h3>
      <ul class="dots">
        {cautions().map((c) => (
          <li key={c}>{c}</li>
        ))}
        <li>Look up and live: no part of the mast comes near a power line. Ask the utility when in doubt.</li>
        <li>
          Nobody stands close in front of a transmitting antenna or dish. Lower the mast in wind and at the first
          thunder.
        </li>
        {(rank?.warnings ?? []).map((w) => (
          <li key={w.code + w.text}>{w.text}</li>
        ))}
      </ul>
      {g !== null && (
        <>
          <h3>Data</h3>
          <table>
            <thead>
              <tr>
                <th>What</th>
                <th>File</th>
                <th class="n">Cell</th>
                <th>Date</th>
                <th>Heights above</th>
              </tr>
            </thead>
            <tbody>
              {g.datasets.map((d) => (
                <tr key={d.kind + d.file}>
                  <td>{d.text}</td>
                  <td>
                    <code>{d.file}</code>
                  </td>
                  <td class="n">{d.cellM === null ? "" : `${num(d.cellM, d.cellM % 1 === 0 ? 0 : 1)} m`}</td>
                  <td>{d.date ?? "not given"}</td>
                  <td>{d.verticalDatum === "" ? "not given" : d.verticalDatum}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </>
      )}
      {rank !== undefined && (
        <>
          <h3>Models</h3>
          <ul class="dots">
            {rank.provenance.models.map((m) => (
              <li key={m.id}>
                {m.id}, {m.edition}
              </li>
            ))}
          </ul>
          <p class="sub sm">
            Values hold for {rank.provenance.date}. Seed {rank.provenance.seed}, version {rank.provenance.version}.
          </p>
        </>
      )}
    </>
  );
}

export function Dialogs() {
  const d = dialog.value;
  return (
    <>
      <Dialog title="Keys" open={d === "keys"} onClose={close}>
        <Rows rows={KEYS} />
        <p class="sub sm">Single-letter keys can be turned off under Units. They rest while a field has the focus.</p>
      </Dialog>
      <Dialog title="How the order is made" open={d === "order"} onClose={close}>
        <p>From the top; the first line that tells two spots apart decides, and each spot says which line did.</p>
        <Rows rows={ORDER} />
      </Dialog>
      <Dialog title="Cautions and data" open={d === "data"} onClose={close} wide>
        <DataAndCautions />
      </Dialog>
      <Dialog title="Runs" open={d === "history"} onClose={close} wide>
        <RunHistory />
      </Dialog>
      <Dialog title="Changes since the last run" open={d === "changes"} onClose={close}>
        <ul class="dots">
          {changesSince(history.value).map((s, i) => (
            <li key={`${i}${s.label}`}>{s.label}</li>
          ))}
          {history.value.ranAt === null && history.value.lost > 0 && (
            <li>Changes made before this page was opened, or taken back and replaced.</li>
          )}
        </ul>
        <button
          type="button"
          class="btn"
          onClick={() => {
            dialog.value = "history";
          }}
        >
          Earlier runs
        </button>
      </Dialog>
      <Dialog title="Find" open={d === "find"} onClose={close}>
        <Find />
      </Dialog>
    </>
  );
}
