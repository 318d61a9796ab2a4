import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { projectRoot } from "./tools.ts";

/** One row of the accuracy table: what a test compared, and the worst difference it saw. */
export interface AccuracyRow {
  model: string;
  /** Published source compared with. */
  source: string;
  quantity: string;
  unit: string;
  count: number;
  worst: number;
  tolerance: number;
}

const partsFolder = join(projectRoot, "dist", "accuracy.d");
const file = join(projectRoot, "dist", "accuracy.json");

function replace(path: string, text: string): void {
  const temporary = `${path}.${process.pid}`;
  writeFileSync(temporary, text);
  renameSync(temporary, path);
}

/** All rows measured so far, in a stable order. */
export function accuracyRows(): AccuracyRow[] {
  if (!existsSync(partsFolder)) return [];
  return readdirSync(partsFolder)
    .filter((name) => name.endsWith(".json"))
    .sort()
    .map((name) => JSON.parse(readFileSync(join(partsFolder, name), "utf8")) as AccuracyRow);
}

/**
 * Keeps a measured row. Each row is a file of its own, and whoever writes last merges all of them,
 * so test files that run side by side lose nothing.
 */
export function recordAccuracy(row: AccuracyRow): void {
  mkdirSync(partsFolder, { recursive: true });
  const name = `${row.model}-${row.source}-${row.quantity}`.replace(/[^A-Za-z0-9.]+/g, "_").slice(0, 150);
  replace(join(partsFolder, `${name}.json`), JSON.stringify(row));
  replace(file, `${JSON.stringify(accuracyRows(), null, 1)}\n`);
}

/** The accuracy table in Markdown, from the tests' own last results. */
export function accuracyTable(): string {
  const lines = accuracyRows().map(
    (r) =>
      `| ${r.model} | ${r.source} | ${r.quantity} | ${r.count} | ${r.worst.toExponential(1)} ${r.unit} | ${r.tolerance} ${r.unit} |`,
  );
  return [
    "| model | compared with | quantity | values | worst difference | tolerance |",
    "|---|---|---|---|---|---|",
    ...lines,
  ].join("\n");
}
