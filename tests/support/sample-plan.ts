import { type DraftPlan, emptyPlan } from "../../src/plan/draft.ts";
import { ORIGIN } from "./fake-engine.ts";

/** An invented plan with ground, one point in a file of its own and one parking area inline. */
export function samplePlan(name = "Sparrow Meadow"): DraftPlan {
  return {
    ...emptyPlan(name),
    notes: "An invented meadow.",
    terrain: { ground: [{ file: "ground.tif", date: "2023", verticalDatum: "navd88" }], canopy: ["canopy.tif"] },
    points: "points.geojson",
    parking: {
      type: "FeatureCollection",
      features: [
        {
          type: "Feature",
          geometry: {
            type: "Polygon",
            coordinates: [
              [
                [ORIGIN.lng, ORIGIN.lat],
                [ORIGIN.lng + 0.001, ORIGIN.lat],
                [ORIGIN.lng + 0.001, ORIGIN.lat + 0.001],
                [ORIGIN.lng, ORIGIN.lat],
              ],
            ],
          },
          properties: { id: "rows", name: "East rows" },
        },
      ],
    },
  };
}
