import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { accuracyTable } from "./accuracy-table.ts";
import { projectRoot } from "./tools.ts";

/** Puts the table of the last test run between its two marks in the README. */
const path = join(projectRoot, "README.md");
const text = readFileSync(path, "utf8");
const open = "<!-- accuracy -->";
const close = "<!-- /accuracy -->";
const from = text.indexOf(open);
const to = text.indexOf(close);
if (from < 0 || to < from) throw new Error("README.md has no accuracy marks");
writeFileSync(path, `${text.slice(0, from + open.length)}\n\n${accuracyTable().trim()}\n\n${text.slice(to)}`);
