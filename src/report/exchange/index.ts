import type { RankAnswer } from "../../plan/outputs/types.ts";
import type { LoadedPlan } from "../../plan/types.ts";
import { placesCsv } from "./csv.ts";
import { placesGeoJson } from "./geojson.ts";
import { placesGpx } from "./gpx.ts";
import { placesKml } from "./kml.ts";
import { placesOf } from "./places.ts";

export const EXCHANGE_FORMATS = ["geojson", "kml", "gpx", "csv"] as const;
export type ExchangeFormat = (typeof EXCHANGE_FORMATS)[number];

/** Spots, points and parking of a plan in a format that other programs read. */
export function exchangeText(format: ExchangeFormat, loaded: LoadedPlan, answer: RankAnswer): string {
  const places = placesOf(loaded, answer);
  switch (format) {
    case "geojson":
      return `${JSON.stringify(placesGeoJson(places))}\n`;
    case "kml":
      return placesKml(answer.plan, places);
    case "gpx":
      return placesGpx(answer.plan, places);
    case "csv":
      return placesCsv(places);
  }
}
