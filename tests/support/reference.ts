import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { projectRoot } from "./tools.ts";

const folder = join(projectRoot, "tests", "reference");

/** A reference file: outside values with source, licence and tolerance in its head. */
export function reference<T = Record<string, unknown>>(path: string): T & { source: string } {
  return JSON.parse(readFileSync(join(folder, path), "utf8")) as T & { source: string };
}

export const referenceFiles = (dir: string): string[] =>
  readdirSync(join(folder, dir))
    .filter((f) => f.endsWith(".json"))
    .sort()
    .map((f) => `${dir}/${f}`);

export interface Table {
  columns: string[];
  rows: (number | string)[][];
}

/** Rows of a table as records. */
export function records(table: Table): Record<string, number>[] {
  return table.rows.map(
    (row) => Object.fromEntries(table.columns.map((c, i) => [c, row[i]])) as Record<string, number>,
  );
}
