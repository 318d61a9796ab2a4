import type { Plan } from "./types.ts";

export type RasterKind = "ground" | "surface" | "canopy";

/** A raster as a plan names it, in its full form. */
export interface RasterEntry {
  kind: RasterKind | "landCover";
  /** Path in the plan, for messages. */
  path: string;
  file: string;
  unit?: "m" | "ft" | "us-ft";
  verticalDatum?: string;
  date?: string;
  heightSdM?: number;
}

/** Every raster a plan names, in the order in which the first with data wins. */
export function rasterEntries(plan: Plan): RasterEntry[] {
  const kinds: RasterKind[] = ["ground", "surface", "canopy"];
  const entries = kinds.flatMap((kind) =>
    (plan.terrain[kind] ?? []).map((entry, i): RasterEntry => {
      const path = `terrain.${kind}[${i}]`;
      if (typeof entry === "string") return { kind, path, file: entry };
      const { file, unit, verticalDatum, date, heightSdM } = entry;
      return {
        kind,
        path: `${path}.file`,
        file,
        ...(unit === undefined ? {} : { unit }),
        ...(verticalDatum === undefined ? {} : { verticalDatum }),
        ...(date === undefined ? {} : { date }),
        ...(heightSdM === undefined ? {} : { heightSdM }),
      };
    }),
  );
  const cover = plan.terrain.landCover?.files ?? [];
  return [
    ...entries,
    ...cover.map((file, i): RasterEntry => ({ kind: "landCover", path: `terrain.landCover.files[${i}]`, file })),
  ];
}

/** Small text files beside the plan other than GeoJSON: antenna patterns and measured horizons. */
export function sideFiles(plan: Plan): { path: string; file: string }[] {
  const antennas = plan.unit.services.flatMap((s, i) =>
    s.antenna.file === undefined ? [] : [{ path: `unit.services[${i}].antenna.file`, file: s.antenna.file }],
  );
  const horizons = (plan.horizons ?? []).flatMap((h, i) =>
    h.file === undefined ? [] : [{ path: `horizons[${i}].file`, file: h.file }],
  );
  return [...antennas, ...horizons];
}
