import type { Place } from "./places.ts";
import { xmlText } from "./xml.ts";

const FOLDERS = [
  ["spot", "Spots"],
  ["point", "Points"],
  ["parking", "Parking"],
] as const;

const coordinates = (list: readonly (readonly number[])[], heightM = 0): string =>
  list.map((p) => `${p[0]},${p[1]},${heightM}`).join(" ");

const ring = (r: readonly number[][]): string =>
  `<LinearRing><coordinates>${coordinates(r)}</coordinates></LinearRing>`;

const area = (rings: readonly number[][][]): string =>
  `<Polygon><tessellate>1</tessellate><altitudeMode>clampToGround</altitudeMode>${rings
    .map((r, i) =>
      i === 0 ? `<outerBoundaryIs>${ring(r)}</outerBoundaryIs>` : `<innerBoundaryIs>${ring(r)}</innerBoundaryIs>`,
    )
    .join("")}</Polygon>`;

/** Every geometry says what its height is measured from: points with a height relative to ground, all else on the ground. */
function geometry(p: Place): string {
  const g = p.geometry;
  switch (g.type) {
    case "Point": {
      // A spot is the ground it stands on; its mast is drawn beside it.
      const h = p.kind === "point" ? (p.heightM ?? 0) : 0;
      return `<Point><altitudeMode>${h > 0 ? "relativeToGround" : "clampToGround"}</altitudeMode><coordinates>${coordinates([g.coordinates], h)}</coordinates></Point>`;
    }
    case "LineString":
      return `<LineString><tessellate>1</tessellate><altitudeMode>clampToGround</altitudeMode><coordinates>${coordinates(g.coordinates)}</coordinates></LineString>`;
    case "Polygon":
      return area(g.coordinates);
    case "MultiPolygon":
      return `<MultiGeometry>${g.coordinates.map(area).join("")}</MultiGeometry>`;
  }
}

function placemark(p: Place): string {
  const data = Object.entries({ id: p.id, code: p.code, ...p.properties })
    .filter(([, v]) => v !== null && v !== "")
    .map(([k, v]) => `<Data name="${xmlText(k)}"><value>${xmlText(String(v))}</value></Data>`)
    .join("");
  const name = p.kind === "spot" ? `${p.properties.rank} ${p.name}` : p.name;
  return `<Placemark><name>${xmlText(name)}</name><description>${xmlText(p.text)}</description><styleUrl>#${p.kind}</styleUrl><ExtendedData>${data}</ExtendedData>${geometry(p)}</Placemark>`;
}

/** The mast of a spot, from the ground to its tip. */
function mast(p: Place): string {
  if (p.geometry.type !== "Point" || p.heightM === null) return "";
  const [lng, lat] = p.geometry.coordinates;
  return `<Placemark><name>${xmlText(`Mast ${p.properties.rank}, ${p.heightM} m`)}</name><styleUrl>#mast</styleUrl><LineString><extrude>1</extrude><altitudeMode>relativeToGround</altitudeMode><coordinates>${lng},${lat},0 ${lng},${lat},${p.heightM}</coordinates></LineString></Placemark>`;
}

/**
 * Places as KML 2.2, in folders, without a file beside it. Source: OGC 07-147r2; element order as in its schema.
 */
export function placesKml(name: string, places: readonly Place[]): string {
  const folders = FOLDERS.map(([kind, title]) => {
    const own = places.filter((p) => p.kind === kind);
    const marks = own.map((p) => placemark(p) + (kind === "spot" ? mast(p) : "")).join("\n");
    return `<Folder><name>${title}</name>\n${marks}\n</Folder>`;
  });
  const style = (id: string, line: string, width: number, fill: string): string =>
    `<Style id="${id}"><LineStyle><color>${line}</color><width>${width}</width></LineStyle><PolyStyle><color>${fill}</color></PolyStyle></Style>`;
  return `<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>${xmlText(name)}</name>
${style("spot", "ff0a47c2", 3, "660a47c2")}${style("mast", "ff2a2114", 3, "662a2114")}${style("point", "ff2a2114", 2, "332a2114")}${style("parking", "ff7a5a0b", 2, "337a5a0b")}
${folders.join("\n")}
</Document></kml>
`;
}
