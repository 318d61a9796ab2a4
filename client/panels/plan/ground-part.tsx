import { useEffect, useState } from "preact/hooks";
import type { FileRow } from "../../../src/plan/http.ts";
import { api } from "../../api.ts";
import { ROLES, type Role, roleOf, withRole } from "../../state/rasters.ts";
import { change, ground, plan, revision } from "../../state/session.ts";
import { planId } from "../../state/view.ts";
import { Flag } from "../../ui/parts.tsx";

const NAMES: Record<Role, string> = {
  ground: "bare earth",
  surface: "surface",
  canopy: "canopy height",
  buildings: "buildings",
  none: "not used",
};
const USABLE = /\.(tiff?|hgt|geojson|json)$/i;

/** Files beside the plan, what each is to it, and what the ground built from them says of itself. */
export function GroundPart() {
  const [files, setFiles] = useState<FileRow[]>([]);
  const id = planId.value;
  const doc = plan.value;
  useEffect(() => {
    if (id === null) return;
    let gone = false;
    api
      .files(id)
      .then((rows) => {
        if (!gone) setFiles(rows);
      })
      .catch(() => {});
    return () => {
      gone = true;
    };
  }, [id, revision.value]);
  const g = ground.value;
  const listed = files.filter((f) => USABLE.test(f.name));
  return (
    <ul class="inner">
      {g?.datasets.map((d) => (
        <li key={d.kind + d.file} class="data-row">
          <b>{d.text}</b>
          <code class="sm sub">{d.file}</code>
        </li>
      ))}
      {g?.warnings.map((w) => (
        <li key={w.code + w.text}>
          <Flag tone="caution" icon="hs-caution">
            <span class="wrap">{w.text}</span>
          </Flag>
        </li>
      ))}
      {doc !== null &&
        listed.map((f) => (
          <li key={f.name} class="data-row">
            <label for={`role-${f.name}`}>
              <code>{f.name}</code>
            </label>
            <select
              id={`role-${f.name}`}
              value={roleOf(doc, f.name)}
              onChange={(e) =>
                change(`${f.name} is ${NAMES[e.currentTarget.value as Role]}`, (p) =>
                  withRole(p, f.name, e.currentTarget.value as Role),
                )
              }
            >
              {ROLES.map((r) => (
                <option key={r} value={r}>
                  {NAMES[r]}
                </option>
              ))}
            </select>
          </li>
        ))}
      {g === null && listed.length === 0 && (
        <li>No ground yet. Add at least one elevation raster; the map flies to it.</li>
      )}
    </ul>
  );
}
