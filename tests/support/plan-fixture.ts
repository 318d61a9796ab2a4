import type { Plan } from "../../src/plan/types.ts";

const point = (id: string, lng: number, lat: number, more: object = {}) => ({
  type: "Feature",
  geometry: { type: "Point", coordinates: [lng, lat] },
  properties: { id, rung: "must", needs: ["cell/talk"], ...more },
});

/** A small plan that is right; tests change one thing of it. Place: invented, at 98.5° W, 41.6° N. */
export function smallPlan(): Plan {
  return structuredClone({
    format: "hardstand-plan",
    version: 1,
    name: "small plan",
    terrain: { ground: ["ground.tif"] },
    unit: {
      tipHeightM: 6,
      footprintM: [10, 10],
      services: [
        {
          id: "cell",
          kind: "lte",
          downlinkMHz: 763,
          uplinkMHz: 793,
          channelMHz: 10,
          txPowerDbm: 36,
          antenna: { pattern: "omni", gainDbi: 9 },
          needs: [{ id: "talk", rsrpDbm: -115 }],
        },
      ],
    },
    terminals: [{ id: "phone", powerDbm: 23 }],
    points: {
      type: "FeatureCollection",
      features: [point("a", -98.5, 41.6), point("b", -98.498, 41.601, { name: "Gate" })],
    },
    parking: {
      type: "FeatureCollection",
      features: [
        {
          type: "Feature",
          geometry: {
            type: "Polygon",
            coordinates: [
              [
                [-98.5005, 41.5995],
                [-98.4995, 41.5995],
                [-98.4995, 41.6005],
                [-98.5005, 41.6005],
                [-98.5005, 41.5995],
              ],
            ],
          },
          properties: { id: "yard", name: "Yard" },
        },
      ],
    },
  }) as unknown as Plan;
}

/** Sets a value deep in a document by its path; undefined takes the field out. */
export function put<T extends object>(document: T, path: readonly (string | number)[], value: unknown): T {
  let here = document as Record<string | number, unknown>;
  for (const key of path.slice(0, -1)) here = here[key] as Record<string | number, unknown>;
  const last = path[path.length - 1]!;
  if (value === undefined) delete here[last];
  else here[last] = value;
  return document;
}
