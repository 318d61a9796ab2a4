import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { HardstandError } from "../../../src/errors/index.ts";
import { rankAnswer } from "../../../src/plan/outputs/index.ts";
import type { RankAnswer } from "../../../src/plan/outputs/types.ts";
import type { LoadedPlan } from "../../../src/plan/types.ts";
import { EXCHANGE_FORMATS, type ExchangeFormat, exchangeText } from "../../../src/report/exchange/index.ts";
import { createEngine } from "../../engine/create.ts";
import { openPlan } from "../../engine/open-scene.ts";
import { writeFilesSafe } from "../../export/write-file.ts";
import { loadPlan } from "../../plan/load.ts";
import type { Arguments, CommandSpec, Io } from "../arguments.ts";
import { progressHooks } from "../progress.ts";

function formatsOf(args: Arguments): ExchangeFormat[] {
  const asked = args.all("format");
  const wrong = asked.find((f) => !(EXCHANGE_FORMATS as readonly string[]).includes(f));
  if (asked.length === 0 || wrong !== undefined)
    throw new HardstandError(
      "command.usage",
      asked.length === 0 ? "--format is missing" : `--format takes one of ${EXCHANGE_FORMATS.join(", ")}`,
      { where: "--format", received: wrong, hint: `one of ${EXCHANGE_FORMATS.join(", ")}; may be repeated` },
    );
  return [...new Set(asked as ExchangeFormat[])];
}

/** A ranking written earlier; one made from another state of the plan is used and told. */
async function readRanking(file: string, loaded: LoadedPlan, io: Io): Promise<RankAnswer> {
  let text: string;
  try {
    text = await readFile(file, "utf8");
  } catch (cause) {
    throw new HardstandError("file.missing", "the ranking cannot be opened", {
      where: "--ranking",
      received: file,
      hint: "name the ranking.json that `hardstand rank --out` wrote",
      cause,
    });
  }
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch (cause) {
    throw new HardstandError("import.invalid", "the ranking is not JSON", {
      where: file,
      hint: "rank again with --out",
      cause,
    });
  }
  const parsed = rankAnswer.safeParse(data);
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    throw new HardstandError("import.invalid", `the ranking does not read: ${issue?.message ?? ""}`, {
      where: `${file}: ${issue?.path.join(".") ?? ""}`,
      hint: "rank again with --out; it may come from another version",
    });
  }
  const answer = parsed.data as RankAnswer;
  const changed = Object.entries(loaded.hashes).filter(([name, hash]) => {
    const then = answer.provenance.files[name];
    return then !== undefined && then !== hash;
  });
  if (changed.length > 0)
    io.note(`Note: ${changed.map(([name]) => name).join(", ")} changed since this ranking was made.\n`);
  return answer;
}

async function freshRanking(planPath: string, io: Io): Promise<{ loaded: LoadedPlan; answer: RankAnswer }> {
  const hooks = progressHooks(io);
  const engine = createEngine();
  try {
    const { loaded, scene } = await openPlan(planPath, hooks);
    const { answer } = await engine.rank(loaded, scene, hooks);
    hooks.finish();
    return { loaded, answer };
  } finally {
    await engine.close?.();
  }
}

export const exportPlaces: CommandSpec = {
  name: "export",
  usage: "hardstand export <plan> --out DIR --format geojson|kml|gpx|csv [--ranking FILE] [--json]",
  summary: "Spots, points and parking for other programs: GeoJSON, KML, GPX or CSV.",
  positionals: ["<plan>"],
  options: [
    { name: "out", value: "DIR", text: "folder the file goes to, as places.geojson, .kml, .gpx or .csv" },
    { name: "format", value: "FORMAT", text: "geojson, kml, gpx or csv", multiple: true },
    { name: "ranking", value: "FILE", text: "a ranking.json written earlier; without it the plan is ranked now" },
  ],
  examples: [
    "hardstand export fair.plan.json --out result --format kml",
    "hardstand export fair.plan.json --ranking result/ranking.json --out result --format gpx --format csv",
  ],
  async run(args, io) {
    const formats = formatsOf(args);
    const out = args.required("out");
    const planPath = args.positionals[0]!;
    const ranking = args.text("ranking");
    const { loaded, answer } =
      ranking === undefined
        ? await freshRanking(planPath, io)
        : await loadPlan(planPath).then(async (plan) => ({
            loaded: plan,
            answer: await readRanking(ranking, plan, io),
          }));
    if (io.signal.aborted) throw new HardstandError("run.cancelled", "the export was cancelled; nothing was written");
    const files = formats.map((format) => ({
      path: join(out, `places.${format}`),
      bytes: exchangeText(format, loaded, answer),
    }));
    await writeFilesSafe(files);
    if (io.json) io.out(`${JSON.stringify({ files: files.map((f) => f.path) })}\n`);
    else for (const f of files) io.out(`wrote ${f.path}\n`);
  },
};
