import type { Place } from "./places.ts";

/** Places as GeoJSON (RFC 7946): WGS 84, longitude first. */
export function placesGeoJson(places: readonly Place[]): object {
  return {
    type: "FeatureCollection",
    features: places.map((p) => ({
      type: "Feature",
      id: `${p.kind}:${p.id}`,
      geometry: p.geometry,
      properties: {
        kind: p.kind,
        id: p.id,
        name: p.name,
        code: p.code,
        heightM: p.heightM,
        groundAmslM: p.groundAmslM,
        text: p.text,
        ...p.properties,
      },
    })),
  };
}
