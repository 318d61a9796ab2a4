import { clearFault, fault, faults, say } from "../../state/notices.ts";
import { putFiles } from "../../state/rasters.ts";
import { loadPlan, plan, saveNow } from "../../state/session.ts";
import { planId } from "../../state/view.ts";
import { FaultBox } from "../../ui/overlay.tsx";

async function take(files: File[]): Promise<void> {
  const id = planId.value;
  if (id === null) return;
  clearFault("file");
  try {
    await saveNow();
    await putFiles(id, files, say);
  } catch (thrown) {
    fault("file", "The files could not be taken in.", thrown);
    return;
  }
  void loadPlan(id);
}
function download(): void {
  const doc = plan.value;
  if (doc === null) return;
  const a = document.createElement("a");
  a.href = URL.createObjectURL(new Blob([JSON.stringify(doc, null, 2)], { type: "application/json" }));
  a.download = `${doc.name.replace(/[^\w-]+/g, "-").toLowerCase()}.plan.json`;
  a.click();
  URL.revokeObjectURL(a.href);
}

/** Rasters and GeoJSON in, the plan document out. */
export function FileTools() {
  return (
    <div class="acts">
      <label class="btn quiet">
        Add files…
        <input
          type="file"
          class="vh"
          multiple
          accept=".tif,.tiff,.hgt,.geojson,.json"
          onChange={(e) => {
            const files = [...(e.currentTarget.files ?? [])];
            e.currentTarget.value = "";
            void take(files);
          }}
        />
      </label>
      <button type="button" class="btn quiet" onClick={download}>
        Save as file
      </button>
      <FaultBox fault={faults.value.file} />
    </div>
  );
}
