import { useState } from "preact/hooks";
import type { Plan } from "../../src/plan/types.ts";
import { api } from "../api.ts";
import type { RunRow } from "../api-types.ts";
import { planChanges } from "../lib/plan-diff.ts";
import { result, runRows, showRun } from "../state/runs.ts";
import { plan, revision } from "../state/session.ts";
import { dialog, planId } from "../state/view.ts";

const STATE = { queued: "waiting", running: "running", done: "finished", cancelled: "cancelled", failed: "stopped" };
async function planAt(id: string, n: number): Promise<Plan> {
  if (n === revision.value && plan.value !== null) return plan.value;
  return (await api.revision(id, n)).plan;
}

/** What changed in the plan between a run and the one before it. */
function Changed(props: { run: RunRow; before: RunRow }) {
  const [text, setText] = useState<string[] | null>(null);
  const id = planId.value;
  if (props.run.planRevision === props.before.planRevision) return <span class="sub">same plan as the run before</span>;
  const ask = (): void => {
    if (id === null) return;
    Promise.all([planAt(id, props.before.planRevision), planAt(id, props.run.planRevision)])
      .then(([a, b]) => {
        const found = planChanges(a, b);
        setText(found.length > 0 ? found : ["Nothing that is kept in the plan document."]);
      })
      .catch(() => setText(["The earlier plan could not be read."]));
  };
  return text === null ? (
    <button type="button" class="link" onClick={ask}>
      What changed
    </button>
  ) : (
    <ul class="dots">
      {text.map((t) => (
        <li key={t}>{t}</li>
      ))}
    </ul>
  );
}

export function RunHistory() {
  const rows = runRows.value.filter((r) => r.kind === "rank").sort((a, b) => (a.createdAt < b.createdAt ? 1 : -1));
  if (rows.length === 0) return <p>No runs yet.</p>;
  const finished = rows.filter((r) => r.state === "done");
  return (
    <table>
      <thead>
        <tr>
          <th>Made</th>
          <th>What came out</th>
          <th>Since the run before</th>
          <th>
            <span class="vh">Show</span>
          </th>
        </tr>
      </thead>
      <tbody>
        {rows.map((r) => {
          const before = finished.find((f) => f.createdAt < r.createdAt);
          const shown = result.value?.runId === r.runId;
          return (
            <tr key={r.runId}>
              <td class="nw">{new Date(r.createdAt).toLocaleString()}</td>
              <td>
                {STATE[r.state]}
                {r.summary === "" ? "" : `: ${r.summary}`}
              </td>
              <td>
                {r.state !== "done" ? (
                  ""
                ) : before === undefined ? (
                  <span class="sub">first run</span>
                ) : (
                  <Changed run={r} before={before} />
                )}
              </td>
              <td class="n">
                {r.state === "done" && (
                  <button
                    type="button"
                    class="link"
                    disabled={shown}
                    onClick={() => {
                      dialog.value = null;
                      showRun(r.runId);
                    }}
                  >
                    {shown ? "shown" : "Show"}
                  </button>
                )}
              </td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
