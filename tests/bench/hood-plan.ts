/** A plan with nearly the whole Mt Hood raster as parking and 20 seeded points; invented, for timing only. */
export function hoodPlan(raster: string): object {
  const [west, south, east, north] = [-121.882, 45.2704, -121.507, 45.4773];
  let state = 7;
  const random = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 4294967296;
  };
  const ring = [
    [west, south],
    [east, south],
    [east, north],
    [west, north],
    [west, south],
  ];
  return {
    format: "hardstand-plan",
    version: 1,
    name: "Whole mountain",
    terrain: { ground: [raster] },
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
          cableLossDb: 1.5,
          antenna: { pattern: "omni", gainDbi: 9 },
          needs: [{ id: "talk", rsrpDbm: -115, downlinkMbps: 0.1, uplinkMbps: 0.1 }],
        },
      ],
      dish: { diameterM: 0.9, eyeHeightM: 1.6 },
    },
    terminals: [{ id: "phone", powerDbm: 23, gainDbi: -1, bodyLossDb: 3 }],
    satellites: [{ id: "w101", longitudeDeg: -101 }],
    points: {
      type: "FeatureCollection",
      features: Array.from({ length: 20 }, (_, i) => ({
        type: "Feature",
        geometry: {
          type: "Point",
          coordinates: [
            west + (east - west) * (0.1 + 0.8 * random()),
            south + (north - south) * (0.1 + 0.8 * random()),
          ],
        },
        properties: { id: `p${i + 1}`, rung: i % 3 === 0 ? "should" : "nice", needs: ["cell/talk"] },
      })),
    },
    parking: {
      type: "FeatureCollection",
      features: [
        {
          type: "Feature",
          geometry: { type: "Polygon", coordinates: [ring] },
          properties: { id: "all", name: "Mountain" },
        },
      ],
    },
    search: { separationM: 500 },
  };
}
