import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { type DraftPlan, parseDraft } from "../../src/plan/draft.ts";
import type { SampleRow } from "../../src/plan/http.ts";
import type { Disk } from "./disk.ts";
import { notFound } from "./layout.ts";

interface Sample extends SampleRow {
  folder: string;
  planFile: string;
  plan: DraftPlan;
}

/** A sample is a folder that holds one `*.plan.json` beside what it names. */
async function find(samplesDir: string): Promise<Sample[]> {
  const samples: Sample[] = [];
  for (const entry of await readdir(samplesDir, { withFileTypes: true }).catch(() => [])) {
    if (!entry.isDirectory()) continue;
    const folder = join(samplesDir, entry.name);
    const planFile = (await readdir(folder)).sort().find((name) => name.endsWith(".plan.json") || name === "plan.json");
    if (planFile === undefined) continue;
    const plan = parseDraft(JSON.parse(await readFile(join(folder, planFile), "utf8")));
    samples.push({ id: entry.name, name: plan.name, description: plan.notes ?? "", folder, planFile, plan });
  }
  return samples.sort((a, b) => (a.id < b.id ? -1 : 1));
}

export async function listSamples(samplesDir: string): Promise<SampleRow[]> {
  return (await find(samplesDir)).map(({ id, name, description }) => ({ id, name, description }));
}

/** The sample's plan and what copies its files into a new plan's folder. */
export async function openSample(
  disk: Disk,
  samplesDir: string,
  id: string,
): Promise<{ plan: DraftPlan; fill: (folder: string) => Promise<void> }> {
  const sample = (await find(samplesDir)).find((each) => each.id === id);
  if (sample === undefined) throw notFound("sample", id);
  const copy = async (from: string, to: string): Promise<void> => {
    for (const entry of await readdir(from, { withFileTypes: true })) {
      if (from === sample.folder && entry.name === sample.planFile) continue;
      if (entry.isDirectory()) {
        await disk.mkdir(join(to, entry.name));
        await copy(join(from, entry.name), join(to, entry.name));
      } else if (entry.isFile()) {
        await disk.copy(join(from, entry.name), join(to, entry.name));
        const file = await disk.open(join(to, entry.name), "r+");
        await file.sync().finally(() => file.close());
      }
    }
  };
  return { plan: sample.plan, fill: (folder) => copy(sample.folder, folder) };
}
