import { readFile, stat } from "node:fs/promises";
import { HardstandError } from "../../../src/errors/index.ts";
import type { LossAnswer } from "../../../src/plan/outputs/types.ts";
import { evaluateLoss, findModel, type LossCase, lossCaseSchema } from "../../../src/propagation/index.ts";
import type { CommandSpec } from "../arguments.ts";

const MAX_BYTES = 256 * 1024 * 1024;
const MAX_CASES = 100_000;

async function readCases(file: string): Promise<{ cases: LossCase[]; many: boolean }> {
  let text: string;
  try {
    if ((await stat(file)).size > MAX_BYTES)
      throw new HardstandError("plan.too-large", "the case file is larger than 256 MB", {
        where: file,
        hint: "split it",
      });
    text = await readFile(file, "utf8");
  } catch (error) {
    if (error instanceof HardstandError) throw error;
    throw new HardstandError("file.missing", "the case file cannot be read", {
      where: file,
      hint: "check the name",
      cause: error,
    });
  }
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch (error) {
    throw new HardstandError(
      "model.input",
      `the case file is not JSON: ${error instanceof Error ? error.message : error}`,
      { where: file, hint: "one case or an array of cases is expected" },
    );
  }
  const many = Array.isArray(data);
  const list = (many ? data : [data]) as unknown[];
  if (list.length > MAX_CASES)
    throw new HardstandError("plan.too-large", `there are more than ${MAX_CASES} cases`, {
      where: file,
      received: list.length,
      hint: "split the file",
    });
  return { many, cases: list.map((item, i) => readCase(item, many ? `${file}: [${i}]` : file)) };
}

function readCase(item: unknown, where: string): LossCase {
  const parsed = lossCaseSchema.safeParse(item);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0]!;
  const path = issue.path.join(".");
  const at = issue.path.reduce<unknown>(
    (o, key) => (o === null || o === undefined ? undefined : (o as Record<PropertyKey, unknown>)[key]),
    item,
  );
  throw new HardstandError("model.input", issue.message, {
    where: path ? `${where}.${path}` : where,
    received: at,
    hint: "see `hardstand loss --help` for the fields of a case",
  });
}

function answer(input: LossCase, where: string): LossAnswer {
  try {
    const result = evaluateLoss(input);
    return { model: input.model, edition: findModel(input.model)?.edition ?? "", ...result };
  } catch (error) {
    const e = HardstandError.from(error);
    throw new HardstandError(e.code, e.message, {
      where: `${where}${e.body.where ? `.${e.body.where}` : ""}`,
      received: e.body.received,
      hint: e.body.hint,
    });
  }
}

export const loss: CommandSpec = {
  name: "loss",
  usage: "hardstand loss <cases.json> [--json]",
  summary: "One model on explicit profiles: one case or an array of cases in, the same out.",
  positionals: ["<cases.json>"],
  options: [],
  examples: [
    "hardstand loss cases.json --json",
    `a case: {"model":"p526","frequencyMHz":763,"distancesKm":[0,0.5,1],"heightsM":[100,120,100],"txHeightM":6,"rxHeightM":1.5}`,
  ],
  async run(args, io) {
    const file = args.positionals[0]!;
    const { cases, many } = await readCases(file);
    const answers = cases.map((c, i) => answer(c, many ? `${file}: [${i}]` : file));
    if (io.json) {
      io.out(`${JSON.stringify(many ? answers : answers[0])}\n`);
      return;
    }
    answers.forEach((a, i) => {
      io.out(`${cases[i]!.name ?? `case ${i + 1}`}: ${a.lossDb.toFixed(2)} dB (${a.model}, ${a.edition})\n`);
      for (const [key, value] of Object.entries(a.parts)) io.out(`  ${key.padEnd(16)} ${value.toPrecision(8)}\n`);
      for (const w of a.warnings) io.out(`  note: ${w.text} [${w.code}]\n`);
    });
  },
};
