import { modelRows } from "../../engine/models.ts";
import type { CommandSpec } from "../arguments.ts";

export const models: CommandSpec = {
  name: "models",
  usage: "hardstand models [--json]",
  summary: "The registry: every model with its Recommendation, edition, validity and how it was verified.",
  positionals: [],
  options: [],
  examples: ["hardstand models", "hardstand models --json"],
  async run(_args, io) {
    const rows = modelRows();
    if (io.json) io.out(`${JSON.stringify(rows)}\n`);
    else
      for (const r of rows)
        io.out(
          `${r.id.padEnd(14)} ${r.title}\n${" ".repeat(15)}${r.source}, ${r.edition}\n${" ".repeat(15)}valid: ${r.validity}\n${" ".repeat(15)}verified: ${r.verified} (${r.tolerance})\n`,
        );
  },
};
