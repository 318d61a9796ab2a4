import { signal } from "@preact/signals";
import { api } from "../api.ts";
import { clearFault, fault, faults } from "../state/notices.ts";
import { putFiles } from "../state/rasters.ts";
import { loadPlan } from "../state/session.ts";
import { planId, stage } from "../state/view.ts";
import { Icon } from "../ui/icon.tsx";
import { FaultBox } from "../ui/overlay.tsx";
import { Slab } from "../ui/parts.tsx";
import { goToPlan } from "./plan-menu.tsx";

const busy = signal<string | null>(null);
const PARTS: [string, string][] = [
  ["Ground", "Drop elevation rasters. Bare earth, surface, or both."],
  ["Who needs service", "Points, areas and routes, drawn or imported."],
  ["Where it may stand", "Parking areas, or single named spots."],
  ["What to keep clear of", "Power lines, crowds, doors, water."],
  ["The unit and its services", "Mast, dish, cell, Wi-Fi. A preset is fine to start."],
  ["Way back to the network", "Wired drop, donor cell or satellite, in order."],
];

/** Makes a plan, puts the rasters beside it, and opens it where they are. */
async function begin(files: File[]): Promise<void> {
  if (busy.value !== null) return;
  clearFault("new");
  busy.value = "Making the plan.";
  try {
    const made = await api.createPlan({ name: files[0]?.name.replace(/\.[a-z]+$/i, "") || "Untitled plan" });
    await putFiles(made.id, files, (text) => {
      busy.value = text;
    });
    goToPlan(made.id);
    stage.value = "plan";
  } catch (thrown) {
    fault("new", "The plan could not be started.", thrown);
  } finally {
    busy.value = null;
  }
}
/** Into the open plan, or into a new one. */
async function takeFiles(files: File[]): Promise<void> {
  const id = planId.value;
  if (id === null) return begin(files);
  try {
    await putFiles(id, files, (text) => {
      busy.value = text;
    });
    await loadPlan(id);
  } catch (thrown) {
    fault("new", "The files could not be taken in.", thrown);
  } finally {
    busy.value = null;
  }
}
export async function openPlanFile(file: File): Promise<void> {
  clearFault("new");
  try {
    const made = await api.createPlan({ plan: JSON.parse(await file.text()) });
    goToPlan(made.id);
  } catch (thrown) {
    fault("new", `${file.name} is not a plan this tool can read.`, thrown);
  }
}
function FileButton(props: {
  label: string;
  accept: string;
  multiple?: boolean;
  primary?: boolean;
  take: (files: File[]) => void;
}) {
  return (
    <label class={`btn ${props.primary ? "primary" : ""}`}>
      {props.label}
      <input
        type="file"
        class="vh"
        accept={props.accept}
        multiple={props.multiple ?? false}
        onChange={(e) => {
          const files = [...(e.currentTarget.files ?? [])];
          e.currentTarget.value = "";
          if (files.length > 0) props.take(files);
        }}
      />
    </label>
  );
}

export function NewPlan() {
  return (
    <>
      <header class="ph">
        <h1>New plan</h1>
        <p class="mid">Six parts. Do them in any order; the tool says what is still missing.</p>
      </header>
      <FaultBox fault={faults.value.new} />
      <ol class="parts">
        {PARTS.map(([name, text], i) => (
          <li key={name} class={i === 0 ? "sel" : ""}>
            <Slab text={i + 1} kind={i === 0 ? "selected" : "open"} />
            <div>
              <b>{name}</b>
              <p class="mid dn">{text}</p>
              {i === 0 && (
                <div class="acts">
                  <FileButton
                    label="Choose rasters…"
                    accept=".tif,.tiff,.hgt"
                    multiple
                    primary
                    take={(f) => void begin(f)}
                  />
                  <FileButton label="Open a plan file…" accept=".json" take={(f) => void openPlanFile(f[0]!)} />
                </div>
              )}
              {i === 0 && busy.value !== null && (
                <p class="dn" role="status">
                  {busy.value}
                </p>
              )}
            </div>
          </li>
        ))}
      </ol>
    </>
  );
}

const over = signal(false);
/** Where the map will be: the place to drop rasters. */
export function RasterDrop() {
  const rows: [string, string][] = [
    ["Bare earth", "hills and valleys, but no trees or buildings"],
    ["Surface", "what stands in the way; ground is estimated"],
    ["Both", "all of that, and whether the mast clears it"],
    ["Canopy, land cover, buildings", "sharper answers; add them any time"],
  ];
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: dropping is a second way; the button beside it does the same
    <div
      class="drop-field"
      onDragOver={(e) => {
        e.preventDefault();
        over.value = true;
      }}
      onDragLeave={() => {
        over.value = false;
      }}
      onDrop={(e) => {
        e.preventDefault();
        over.value = false;
        const files = [...(e.dataTransfer?.files ?? [])];
        const planFile = files.find((f) => f.name.endsWith(".json"));
        if (planFile) void openPlanFile(planFile);
        else if (files.length > 0) void takeFiles(files);
      }}
    >
      <div class={`drop ${over.value ? "over" : ""}`}>
        <Icon name="hs-i-file" class="huge" />
        <h2>Drop ground and surface rasters here</h2>
        <p class="mid">GeoTIFF or HGT, several at once. The map flies to where they are.</p>
        <table>
          <thead>
            <tr>
              <th>If you have</th>
              <th>the tool can tell</th>
            </tr>
          </thead>
          <tbody>
            {rows.map(([have, tell]) => (
              <tr key={have}>
                <th scope="row" class="b">
                  {have}
                </th>
                <td>{tell}</td>
              </tr>
            ))}
          </tbody>
        </table>
        {busy.value !== null && <p role="status">{busy.value}</p>}
        <FaultBox fault={planId.value === null ? undefined : faults.value.new} />
        <p class="sm sub">Files stay on this machine. Nothing is fetched from outside.</p>
      </div>
    </div>
  );
}
