import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

/**
 * Where the worker's entry is and what the thread needs to run it: the bundle beside this one, or, from the sources, the
 * TypeScript entry with the loader that reads it.
 */
export function workerFile(entry = "pool-worker"): { filename: string; execArgv: string[] } {
  const here = fileURLToPath(import.meta.url);
  const fromSources = here.endsWith(".ts");
  if (!fromSources) return { filename: join(dirname(here), `${entry}.mjs`), execArgv: [] };
  const loader = pathToFileURL(createRequire(import.meta.url).resolve("tsx")).href;
  return { filename: join(dirname(here), `${entry}.ts`), execArgv: ["--import", loader] };
}
