import { readFileSync } from "node:fs";

/** Rows of a comma-separated file with a header line, as records of texts. */
export function csvRows(path: string): Record<string, string>[] {
  const [header, ...lines] = readFileSync(path, "utf8").trim().split(/\r?\n/);
  const names = header!.split(",");
  return lines.map((line) => Object.fromEntries(line.split(",").map((cell, i) => [names[i]!, cell])));
}

/** Rows of a file of numbers parted by blanks, "#" lines left out. */
export const numberRows = (path: string): number[][] =>
  readFileSync(path, "utf8")
    .split(/\r?\n/)
    .filter((line) => line.trim() !== "" && !line.startsWith("#"))
    .map((line) => line.trim().split(/\s+/).map(Number));
