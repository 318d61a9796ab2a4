import { toUsng } from "../../geodesy/index.ts";
import type { LngLat } from "../../geodesy/types.ts";
import { csv } from "../csv.ts";
import type { Place, PlaceGeometry } from "./places.ts";

const list = (points: readonly (readonly number[])[]): string => `(${points.map((p) => `${p[0]} ${p[1]}`).join(", ")})`;

/** Geometry as well-known text (OGC 06-103r4), longitude first. */
export function wkt(g: PlaceGeometry): string {
  switch (g.type) {
    case "Point":
      return `POINT (${g.coordinates[0]} ${g.coordinates[1]})`;
    case "LineString":
      return `LINESTRING ${list(g.coordinates)}`;
    case "Polygon":
      return `POLYGON (${g.coordinates.map(list).join(", ")})`;
    case "MultiPolygon":
      return `MULTIPOLYGON (${g.coordinates.map((p) => `(${p.map(list).join(", ")})`).join(", ")})`;
  }
}

/** The polar caps have no USNG; there the cell stays empty. */
const usng = (at: LngLat): string => (at.lat <= 84 && at.lat >= -80 ? toUsng(at) : "");

/** Places as CSV (RFC 4180), one row each; areas and routes with their middle and their shape as well-known text. */
export function placesCsv(places: readonly Place[]): string {
  return csv(
    [
      "kind",
      "id",
      "name",
      "code",
      "lng",
      "lat",
      "usng",
      "height_m",
      "ground_amsl_m",
      "heading_deg",
      "rank",
      "role",
      "score",
      "feasible",
      "rung",
      "needs",
      "text",
      "wkt",
    ],
    places.map((p) => [
      p.kind,
      p.id,
      p.name,
      p.code,
      p.at.lng,
      p.at.lat,
      usng(p.at),
      p.heightM,
      p.groundAmslM,
      p.properties.headingDeg ?? null,
      p.properties.rank ?? null,
      p.properties.role ?? null,
      p.properties.score ?? null,
      p.properties.feasible ?? null,
      p.properties.rung ?? null,
      p.properties.needs ?? null,
      p.text,
      wkt(p.geometry),
    ]),
  );
}
