import { skyChartSvg } from "../../../src/report/sky-chart.ts";
import { createEngine } from "../../engine/create.ts";
import { openPlan } from "../../engine/open-scene.ts";
import { writeSkyMap } from "../../export/sky-map.ts";
import { writeFileSafe } from "../../export/write-file.ts";
import type { CommandSpec } from "../arguments.ts";
import { progressHooks } from "../progress.ts";

export const sky: CommandSpec = {
  name: "sky",
  usage:
    "hardstand sky <plan> --at LNG,LAT [--height-m H] [--chart FILE.svg] [--map FILE.tif] [--needed-height FILE.tif] [--json]",
  summary: "Whether the dish sees its satellites from a spot, what blocks, and what would have to change.",
  positionals: ["<plan>"],
  options: [
    { name: "at", value: "LNG,LAT", text: "the spot, longitude first; any other notation is read too" },
    { name: "height-m", value: "H", text: "eye height above ground, default the plan's" },
    { name: "roof", value: "ID", text: "building whose roof carries the dish" },
    { name: "chart", value: "FILE.svg", text: "write the sky chart" },
    { name: "map", value: "FILE.tif", text: "write the clearance over every cell, one band per satellite" },
    { name: "needed-height", value: "FILE.tif", text: "write the eye height needed over every cell" },
  ],
  examples: [
    "hardstand sky fair.plan.json --at -98.6,41.3",
    "hardstand sky fair.plan.json --at -98.6,41.3 --chart sky.svg --json",
  ],
  async run(args, io) {
    const place = args.place("at");
    const hooks = progressHooks(io);
    const engine = createEngine();
    const { loaded, scene } = await openPlan(args.positionals[0]!, hooks);
    const heightM = args.number("height-m", 0, 500);
    const roof = args.text("roof");
    const answer = await engine.sky(loaded, scene, place, heightM, roof);
    hooks.finish();
    const chart = args.text("chart");
    if (chart) await writeFileSafe(chart, skyChartSvg(answer));
    const map = args.text("map");
    if (map) await writeSkyMap(map, loaded, scene, "clearance", heightM);
    const needed = args.text("needed-height");
    if (needed) await writeSkyMap(needed, loaded, scene, "needed-height", heightM);
    await engine.close?.();
    if (io.json) {
      io.out(`${JSON.stringify(answer)}\n`);
      return;
    }
    io.out(
      `Eye ${answer.eyeHeightM} m above ${answer.onBuilding ? `the roof of ${answer.onBuilding}` : "ground"}${answer.eyeAmslM === null ? "" : ` (${answer.eyeAmslM.toFixed(1)} m AMSL)`}.\n`,
    );
    for (const v of answer.satellites) {
      const state = v.clear === null ? "unknown" : v.clear ? "clear" : "blocked";
      io.out(
        `${v.id} (${v.satelliteDeg}°): ${state}; azimuth ${v.azimuthDeg.toFixed(1)}° true, ${v.azimuthMagneticDeg.toFixed(1)}° compass, elevation ${v.elevationDeg.toFixed(1)}°; ${v.clearanceDeg === null ? "clearance unknown" : `${v.clearanceDeg.toFixed(1)}° clear, needs ${v.neededDeg}°`}\n`,
      );
      if (v.blockedBy)
        io.out(
          `  in the way: ${v.blockedBy.name}, ${v.blockedBy.distanceM.toFixed(0)} m away at ${v.blockedBy.azimuthDeg.toFixed(0)}°, ${v.blockedBy.intrusionM.toFixed(1)} m into the tube\n`,
        );
      for (const a of v.advice) io.out(`  ${a.text}\n`);
      for (const n of v.notes) io.out(`  ${n}\n`);
    }
    for (const c of answer.cautions) io.out(`Caution: ${c}\n`);
    for (const w of answer.warnings) io.out(`Note: ${w.text}\n`);
  },
};
