import { createEngine } from "../../engine/create.ts";
import { openPlan } from "../../engine/open-scene.ts";
import type { CommandSpec } from "../arguments.ts";
import { progressHooks } from "../progress.ts";

export const path: CommandSpec = {
  name: "path",
  usage: "hardstand path <plan> --from LNG,LAT --to LNG,LAT --service ID [--point ID] [--json]",
  summary: "One path from the unit to a terminal: clearance, loss by part, budget both ways.",
  positionals: ["<plan>"],
  options: [
    { name: "from", value: "LNG,LAT", text: "where the unit stands" },
    { name: "to", value: "LNG,LAT", text: "where the terminal is" },
    { name: "service", value: "ID", text: "service of the plan's unit" },
    { name: "point", value: "ID", text: "take terminal, height and place of this point" },
  ],
  examples: ["hardstand path fair.plan.json --from -98.6,41.3 --to -98.601,41.305 --service cell"],
  async run(args, io) {
    const from = args.place("from");
    const to = args.place("to");
    const hooks = progressHooks(io);
    const engine = createEngine();
    const { loaded, scene } = await openPlan(args.positionals[0]!, hooks);
    const a = await engine.path(loaded, scene, from, to, args.required("service"), args.text("point"));
    hooks.finish();
    await engine.close?.();
    if (io.json) {
      io.out(`${JSON.stringify(a)}\n`);
      return;
    }
    io.out(
      `${a.distanceM.toFixed(0)} m, bearing ${a.bearingDeg.toFixed(1)}° true, ${a.frequencyMHz} MHz, k = ${a.k.toFixed(2)}\n`,
    );
    io.out(
      `Direct ray: ${a.lineOfSight === null ? "unknown" : a.lineOfSight ? "clear" : "blocked"}; least clearance ${a.fresnelRatio === null ? "unknown" : `${a.fresnelRatio.toFixed(2)} of the first Fresnel zone`}\n`,
    );
    if (a.worstObstruction)
      io.out(
        `Most in the way: ${a.worstObstruction.name}, ${a.worstObstruction.distanceM.toFixed(0)} m from the unit, ${a.worstObstruction.aboveLineM.toFixed(1)} m ${a.worstObstruction.aboveLineM >= 0 ? "above" : "relative to"} the ray\n`,
      );
    io.out(
      a.lossDb === null
        ? `Loss unknown: ${(a.unknownShare * 100).toFixed(0)} % of the path has no data\n`
        : `Loss ${a.lossDb.toFixed(1)} dB (${a.model})\n`,
    );
    for (const [key, value] of Object.entries(a.parts)) io.out(`  ${key.padEnd(12)} ${value.toFixed(3)}\n`);
    if (a.vegetation)
      io.out(
        `Vegetation: ${a.vegetation.route}, ${a.vegetation.lengthM.toFixed(0)} m, ${a.vegetation.lossDb.toFixed(1)} dB\n`,
      );
    if (a.secondOpinion)
      io.out(
        `Second model (${a.secondOpinion.model}): ${a.secondOpinion.lossDb.toFixed(1)} dB, ${a.secondOpinion.differenceDb.toFixed(1)} dB different\n`,
      );
    if (a.twoRayLossDb !== null) io.out(`Two-ray over flat ground, as a check: ${a.twoRayLossDb.toFixed(1)} dB\n`);
    for (const b of a.budgets) {
      io.out(
        `${b.need}: margin ${b.marginDb.toFixed(1)} dB, ${b.limitingDirection} gives out first, chance ${(b.probability * 100).toFixed(0)} %, σ ${b.sigmaDb.toFixed(1)} dB\n`,
      );
      for (const d of [b.downlink, b.uplink]) {
        if (!d) continue;
        io.out(
          `  ${d.direction}: level ${d.levelDbm.toFixed(1)} dBm, MAPL ${d.maplDb.toFixed(1)} dB, margin ${d.marginDb.toFixed(1)} dB\n`,
        );
        for (const t of d.terms) io.out(`    ${t.name.padEnd(34)} ${t.value.toFixed(2)} ${t.unit}  ${t.source}\n`);
      }
    }
    for (const w of a.warnings) io.out(`Note: ${w.text} [${w.code}]\n`);
  },
};
