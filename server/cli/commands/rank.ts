import { HardstandError } from "../../../src/errors/index.ts";
import type { Layout, RankAnswer, SkyAnswer } from "../../../src/plan/outputs/types.ts";
import type { LoadedPlan } from "../../../src/plan/types.ts";
import type { Scene } from "../../../src/terrain/scene.ts";
import { createEngine } from "../../engine/create.ts";
import { openPlan } from "../../engine/open-scene.ts";
import type { Engine } from "../../engine.ts";
import { writeRanking } from "../../export/ranking.ts";
import { writeSiteSheet } from "../../export/site-sheet.ts";
import type { CommandSpec, Io } from "../arguments.ts";
import { progressHooks } from "../progress.ts";

/** A layout: its spots, what they serve together and alone, how it was found. */
function printLayout(a: RankAnswer, l: Layout, io: Io): void {
  const gap = l.method === "exact" ? "proven" : `gap ${l.gapPct.toFixed(1)} %`;
  io.out(
    `${l.spots.length} units together: score ${l.score.toFixed(1)}, bound ${l.bound.toFixed(1)} (${gap}), served by one ${l.servedByOnePct.toFixed(1)} %, by two ${l.servedByTwoPct.toFixed(1)} %\n`,
  );
  l.spots.forEach((id, i) => {
    const spot = a.spots.find((s) => s.id === id);
    io.out(`  unit ${i + 1}: ${spot?.name ?? id}  ${spot?.usng ?? ""}\n`);
  });
  for (const n of l.needs ?? []) {
    const verdict = n.met === null ? "unknown" : n.met ? "served" : "short";
    const each = n.byUnit.map((v) => `${(100 * v).toFixed(0)}`).join(" + ");
    io.out(`  ${n.id} (${n.need}, ${n.rung}): ${(100 * n.share).toFixed(1)} %, ${verdict}; alone ${each} %\n`);
  }
  for (const r of l.reasons ?? []) io.out(`  ${r}\n`);
}

function print(a: RankAnswer, io: Io): void {
  io.out(
    `${a.plan}: ${a.parking.usableHectares.toFixed(2)} of ${a.parking.totalHectares.toFixed(2)} ha of parking can be used (${a.parking.cells} cells of ${a.parking.cellM} m).\n`,
  );
  for (const r of a.rejected) io.out(`  struck out by ${r.reason}: ${r.hectares.toFixed(3)} ha\n`);
  if (a.feasibleCount === 0) io.out("No spot serves every must. The nearest misses:\n");
  for (const m of a.nearestMisses) {
    io.out(`  ${m.usng}, score ${m.score.toFixed(1)}: ${m.text}\n`);
    for (const f of m.fixes) io.out(`    ${f.text}\n`);
  }
  for (const l of a.layouts ?? []) printLayout(a, l, io);
  for (const o of a.objectives ?? []) {
    const found = o.foundPct === null ? "unknown" : `${o.foundPct.toFixed(1)} %`;
    const verdict =
      o.met === null ? "open" : o.met ? "met" : `short by ${(o.sharePct - o.foundPct!).toFixed(1)} percentage points`;
    io.out(
      `Objective ${o.area} (${o.need}), ${o.sharePct} %${o.unitsLost > 0 ? " with one unit lost" : ""}: ${found}, ${verdict}\n`,
    );
  }
  for (const s of a.spots) {
    io.out(
      `${String(s.rank).padStart(3)}  ${s.name}${s.role === "none" ? "" : ` (${s.role})`}  ${s.usng}  score ${s.score.toFixed(1)}${s.tied ? " tied" : ""}${s.feasible ? "" : `, ${s.mustsShort} musts short`}\n`,
    );
    for (const reason of s.reasons) io.out(`       ${reason}\n`);
    for (const c of s.checks) if (c.status !== "pass") io.out(`       ${c.status}: ${c.text}\n`);
  }
  for (const w of a.warnings) io.out(`Note: ${w.text}\n`);
  for (const c of a.cautions) io.out(`Caution: ${c}\n`);
}

/** The sky of every spot that gets a sheet; none where the unit has no dish. */
async function skyOfSpots(
  engine: Engine,
  loaded: LoadedPlan,
  scene: Scene,
  answer: RankAnswer,
): Promise<Map<string, SkyAnswer>> {
  const found = new Map<string, SkyAnswer>();
  if (!loaded.plan.unit.dish) return found;
  for (const s of answer.spots) if (s.role !== "none") found.set(s.id, await engine.sky(loaded, scene, s));
  return found;
}

export const rank: CommandSpec = {
  name: "rank",
  usage: "hardstand rank <plan> [--out DIR] [--paper a4|letter] [--threads N] [--json]",
  summary: "The main job: test every cell of parking, rank the best spots, say why.",
  positionals: ["<plan>"],
  options: [
    {
      name: "out",
      value: "DIR",
      text: "write ranking.json, ranking.csv, spots.geojson, suitability.tif, site-sheet.pdf and site-sheet.html there",
    },
    { name: "paper", value: "SIZE", text: "paper of the site sheet, a4 (default) or letter" },
    { name: "threads", value: "N", text: "worker threads, default one per core; the answer is the same" },
  ],
  examples: [
    "hardstand rank data-samples/fairground/fairground.plan.json",
    "hardstand rank fair.plan.json --out result --json > ranking.json",
  ],
  async run(args, io) {
    const hooks = progressHooks(io);
    const threads = args.number("threads", 0, 64);
    const paper = args.choice("paper", ["a4", "letter"]) ?? "a4";
    const engine = createEngine(threads === undefined ? {} : { threads });
    try {
      const { loaded, scene } = await openPlan(args.positionals[0]!, hooks);
      const result = await engine.rank(loaded, scene, hooks);
      hooks.finish();
      const out = args.text("out");
      if (io.signal.aborted) throw new HardstandError("run.cancelled", "the run was cancelled; nothing was written");
      if (out) {
        for (const file of await writeRanking(out, result, scene)) io.note(`wrote ${file}\n`);
        const sky = await skyOfSpots(engine, loaded, scene, result.answer);
        const sheet = await writeSiteSheet(out, { loaded, scene, answer: result.answer, sky, paper });
        for (const file of sheet.files) io.note(`wrote ${file}\n`);
        if (sheet.note) io.note(`Note: ${sheet.note}\n`);
      }
      if (io.json) io.out(`${JSON.stringify(result.answer)}\n`);
      else print(result.answer, io);
    } finally {
      await engine.close?.();
    }
  },
};
