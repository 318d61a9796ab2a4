import { declination } from "../../../src/geodesy/index.ts";
import { lookAngles, visibleArc } from "../../../src/satellite/index.ts";
import { type CommandSpec, numberOf } from "../arguments.ts";
import { dateOf } from "../date.ts";

export const look: CommandSpec = {
  name: "look",
  usage: "hardstand look --at LNG,LAT --satellite-deg LON [--height-m H] [--date ISO] [--json]",
  summary: "Look angles to geostationary satellites, without terrain.",
  positionals: [],
  options: [
    { name: "at", value: "LNG,LAT", text: "the spot, longitude first; any other notation is read too" },
    {
      name: "satellite-deg",
      value: "LON",
      text: "satellite longitude, degrees east (west is negative)",
      multiple: true,
    },
    { name: "all", text: "every whole degree of the visible arc" },
    { name: "height-m", value: "H", text: "height above the ellipsoid, default 0" },
    { name: "date", value: "ISO", text: "date the magnetic values hold for, default today" },
  ],
  examples: [
    "hardstand look --at -98.6,41.3 --satellite-deg -101",
    "hardstand look --at -98.6,41.3 --satellite-deg -101 --satellite-deg -83 --json",
  ],
  async run(args, io) {
    const place = args.place("at");
    const heightM = args.number("height-m", -1000, 100_000) ?? 0;
    const date = dateOf(args.text("date"));
    const site = { ...place, heightM };
    const d = declination(place, heightM / 1000, new Date(date));
    const longitudes = args.all("satellite-deg").map((t) => numberOf(t, "--satellite-deg", -360, 360));
    if (longitudes.length === 0 && !args.flag("all")) args.required("satellite-deg");
    const rows = args.flag("all")
      ? visibleArc(site, d.declinationDeg)
      : longitudes.map((lon) => lookAngles(site, lon, d.declinationDeg));
    if (io.json) {
      io.out(`${JSON.stringify(rows)}\n`);
      return;
    }
    for (const r of rows) {
      io.out(
        r.visible
          ? `${r.satelliteDeg}°: azimuth ${r.azimuthDeg.toFixed(2)}° true, ${r.azimuthMagneticDeg.toFixed(1)}° compass; elevation ${r.elevationDeg.toFixed(2)}° (${r.elevationRefractedDeg.toFixed(2)}° with refraction); skew ${r.skewDeg.toFixed(1)}°; range ${r.rangeKm.toFixed(0)} km; one way ${r.delayMs.toFixed(0)} ms\n`
          : `${r.satelliteDeg}°: below the horizon (elevation ${r.elevationDeg.toFixed(2)}°)\n`,
      );
    }
    io.out(
      `Declination ${d.declinationDeg.toFixed(2)}° ± ${d.uncertaintyDeg.toFixed(1)}° (${d.model}, ${date.slice(0, 10)}). A compass near steel reads wrong by 5–10° (common practice, no source).\n`,
    );
    io.out("Skew: positive clockwise, seen from behind the dish looking at the satellite.\n");
  },
};
