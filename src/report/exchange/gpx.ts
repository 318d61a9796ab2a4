import type { Place } from "./places.ts";
import { xmlText } from "./xml.ts";

const LONGEST = 10;
const PREFIX = { spot: "S", point: "P", parking: "K" } as const;

/** Short names of plain capitals, figures and dashes, each once: what every receiver takes. */
export function shortNames(places: readonly Place[]): string[] {
  const used = new Set<string>();
  return places.map((p) => {
    const plain = (text: string): string =>
      text
        .normalize("NFD")
        .replace(/[^A-Za-z0-9-]+/g, "")
        .toUpperCase();
    const body = p.kind === "spot" ? String(p.properties.rank) : plain(p.code) || plain(p.name) || plain(p.id) || "X";
    const stem = `${PREFIX[p.kind]}-${body}`.replace("S-", "S").slice(0, LONGEST);
    let name = stem;
    for (let i = 2; used.has(name); i++) {
      const tail = `-${i}`;
      name = stem.slice(0, LONGEST - tail.length) + tail;
    }
    used.add(name);
    return name;
  });
}

/**
 * Places as GPX 1.1 without extensions: a waypoint for everything, a route for routes, a closed track for an area's outline.
 * Height is the ground's above sea level where it is known. Source: GPX 1.1 schema; element order as in it.
 */
export function placesGpx(name: string, places: readonly Place[]): string {
  const names = shortNames(places);
  const at = (tag: string, p: readonly number[], inner = ""): string =>
    `<${tag} lat="${p[1]}" lon="${p[0]}">${inner}</${tag}>`;
  const about = (p: Place): string => `<desc>${xmlText(`${p.name}. ${p.text}`)}</desc>`;
  const waypoints = places.map((p, i) =>
    at(
      "wpt",
      [p.at.lng, p.at.lat],
      `${p.groundAmslM === null ? "" : `<ele>${p.groundAmslM}</ele>`}<name>${names[i]}</name>${about(p)}<type>${p.kind}</type>`,
    ),
  );
  const routes: string[] = [];
  const tracks: string[] = [];
  for (const [i, p] of places.entries()) {
    const g = p.geometry;
    if (g.type === "LineString")
      routes.push(`<rte><name>${names[i]}</name>${about(p)}${g.coordinates.map((c) => at("rtept", c)).join("")}</rte>`);
    const rings = g.type === "Polygon" ? g.coordinates : g.type === "MultiPolygon" ? g.coordinates.flat() : [];
    if (rings.length > 0)
      tracks.push(
        `<trk><name>${names[i]}</name>${about(p)}${rings
          .map((r) => `<trkseg>${r.map((c) => at("trkpt", c)).join("")}</trkseg>`)
          .join("")}</trk>`,
      );
  }
  return `<?xml version="1.0" encoding="UTF-8"?>
<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="Hardstand"><metadata><name>${xmlText(name)}</name></metadata>
${[...waypoints, ...routes, ...tracks].join("\n")}
</gpx>
`;
}
