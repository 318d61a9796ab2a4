import { createEngine } from "../../engine/create.ts";
import { openPlan } from "../../engine/open-scene.ts";
import { encodeGeoTiff } from "../../export/geotiff.ts";
import { writeFileSafe } from "../../export/write-file.ts";
import type { CommandSpec } from "../arguments.ts";
import { progressHooks } from "../progress.ts";

const WHAT = ["loss", "level", "probability", "visible"] as const;

export const cover: CommandSpec = {
  name: "cover",
  usage:
    "hardstand cover <plan> --at LNG,LAT --service ID --what loss|level|probability|visible --out FILE.tif [--radius-m R] [--need ID] [--json]",
  summary: "What one unit at a place covers: a raster, and the share of each area.",
  positionals: ["<plan>"],
  options: [
    { name: "at", value: "LNG,LAT", text: "where the unit stands" },
    { name: "service", value: "ID", text: "service of the plan's unit" },
    { name: "what", value: "WHAT", text: "loss, level, probability or visible" },
    { name: "out", value: "FILE.tif", text: "GeoTIFF to write" },
    { name: "radius-m", value: "R", text: "how far to look, default the whole grid" },
    { name: "need", value: "ID", text: "need whose probability is asked, default the service's first" },
    { name: "terminal", value: "ID", text: "terminal at the far end, default the plan's first" },
  ],
  examples: ["hardstand cover fair.plan.json --at -98.6,41.3 --service cell --what probability --out cover.tif"],
  async run(args, io) {
    const place = args.place("at");
    const service = args.required("service");
    const what = args.choice("what", WHAT) ?? (args.required("what") as (typeof WHAT)[number]);
    const out = args.required("out");
    const radiusM = args.number("radius-m", 1, 200_000);
    const need = args.text("need");
    const terminal = args.text("terminal");
    const hooks = progressHooks(io);
    const engine = createEngine();
    try {
      const { loaded, scene } = await openPlan(args.positionals[0]!, hooks);
      const { answer, values, grid } = await engine.cover(
        loaded,
        scene,
        {
          ...place,
          service,
          what,
          ...(radiusM ? { radiusM } : {}),
          ...(need ? { need } : {}),
          ...(terminal ? { terminal } : {}),
        },
        hooks,
      );
      hooks.finish();
      await writeFileSafe(
        out,
        encodeGeoTiff({ grid, origin: scene.frame.origin, bands: [{ name: `${what}, ${answer.unit}`, values }] }),
      );
      answer.file = out;
      if (io.json) io.out(`${JSON.stringify(answer)}\n`);
      else {
        io.out(
          `${what} (${answer.unit}) of ${service} over ${answer.cols} × ${answer.rows} cells of ${answer.cellM} m: ${answer.min?.toFixed(2)} to ${answer.max?.toFixed(2)}, mean ${answer.mean?.toFixed(2)}; ${(answer.knownShare * 100).toFixed(1)} % known\n`,
        );
        for (const a of answer.areas)
          io.out(
            `  ${a.name}: ${a.sharePct === null ? "unknown" : `${a.sharePct.toFixed(1)} %`} of ${a.cells} cells at ${a.threshold} or better\n`,
          );
        for (const w of answer.warnings) io.out(`Note: ${w.text}\n`);
      }
    } finally {
      await engine.close?.();
    }
  },
};
