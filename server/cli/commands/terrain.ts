import { describeRaster } from "../../raster/index.ts";
import { type CommandSpec, placeOf } from "../arguments.ts";

export const terrain: CommandSpec = {
  name: "terrain",
  usage: "hardstand terrain <raster> [--at LNG,LAT] [--json]",
  summary: "What a raster is: CRS, cell, unit, datum, range, what is doubtful about it.",
  positionals: ["<raster>"],
  options: [{ name: "at", value: "LNG,LAT", text: "sample the height here", multiple: true }],
  examples: ["hardstand terrain ground.tif", "hardstand terrain N42E001.hgt --at 1.5,42.5 --json"],
  async run(args, io) {
    const at = args.all("at").map((t) => placeOf(t, "--at"));
    const a = await describeRaster(
      args.positionals[0]!,
      at.length > 0 ? { at, signal: io.signal } : { signal: io.signal },
    );
    if (io.json) {
      io.out(`${JSON.stringify(a)}\n`);
      return;
    }
    const [w, s, e, n] = a.bounds;
    io.out(`${a.file}: ${a.kind}, ${a.format} (${a.encoding})\n`);
    io.out(`CRS ${a.crs ?? "none"} ${a.crsName}${a.crsVerified ? "" : " (datum shift not verified)"}\n`);
    io.out(
      `${a.width} × ${a.height} cells of ${a.cellM[0].toFixed(2)} × ${a.cellM[1].toFixed(2)} m; west ${w.toFixed(6)}, south ${s.toFixed(6)}, east ${e.toFixed(6)}, north ${n.toFixed(6)}\n`,
    );
    io.out(
      `Heights in ${a.unit} (${a.unitSource}), datum ${a.verticalDatum} (${a.verticalDatumSource}); ${a.min === null ? "no valid cell" : `${a.min.toFixed(2)} to ${a.max!.toFixed(2)} m, mean ${a.mean!.toFixed(2)} m`}; ${(a.validShare * 100).toFixed(1)} % of the cells hold data\n`,
    );
    for (const p of a.samples ?? [])
      io.out(`  ${p.lng}, ${p.lat}: ${p.heightM === null ? "no data" : `${p.heightM.toFixed(2)} m`}\n`);
    for (const x of a.warnings) io.out(`Note: ${x.text} [${x.code}]\n`);
  },
};
