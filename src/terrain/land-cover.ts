import type { Grid, SceneWarning } from "./scene.ts";
import { sharedHeights } from "./shared.ts";

export type LandCoverScheme = "nlcd" | "fbfm40" | "corine";

/** What stands on a class of ground: nothing, houses, or trees. */
export interface Clutter {
  houseM: number;
  treeM: number;
}

/**
 * Representative clutter heights, m: open and rural 0, suburban 10, urban and forest 15, dense urban 20.
 * Source: Rec. ITU-R P.1812-6, default representative clutter heights; from memory.
 */
const OPEN: Clutter = { houseM: 0, treeM: 0 };
const SUBURBAN: Clutter = { houseM: 10, treeM: 0 };
const URBAN: Clutter = { houseM: 15, treeM: 0 };
const DENSE: Clutter = { houseM: 20, treeM: 0 };
const FOREST: Clutter = { houseM: 0, treeM: 15 };

/** NLCD classes (US National Land Cover Database legend). */
// biome-ignore format: a table
const NLCD: Record<number, Clutter> = {
  11: OPEN, 12: OPEN, 21: OPEN, 22: SUBURBAN, 23: SUBURBAN, 24: URBAN, 31: OPEN, 41: FOREST, 42: FOREST, 43: FOREST,
  51: OPEN, 52: OPEN, 71: OPEN, 72: OPEN, 73: OPEN, 74: OPEN, 81: OPEN, 82: OPEN, 90: FOREST, 95: OPEN,
};

/** CORINE classes: three-digit codes, and the 1–44 of its rasters in the same order. */
const CORINE_CODES = [
  111, 112, 121, 122, 123, 124, 131, 132, 133, 141, 142, 211, 212, 213, 221, 222, 223, 231, 241, 242, 243, 244, 311,
  312, 313, 321, 322, 323, 324, 331, 332, 333, 334, 335, 411, 412, 421, 422, 423, 511, 512, 521, 522, 523,
];
function corine(code: number): Clutter | null {
  const c = code >= 1 && code <= 44 ? CORINE_CODES[code - 1]! : code;
  if (!CORINE_CODES.includes(c)) return null;
  if (c === 111) return DENSE;
  if (c === 112) return SUBURBAN;
  if (c === 121) return URBAN;
  if (c === 244 || (c >= 311 && c <= 313)) return FOREST;
  return OPEN;
}

/** Fuel models of Scott and Burgan (2005, RMRS-GTR-153): timber understory and timber litter stand under trees. */
function fbfm40(code: number): Clutter | null {
  if (code === 91) return SUBURBAN;
  if ([92, 93, 98, 99].includes(code)) return OPEN;
  if (code >= 101 && code <= 149) return OPEN;
  if ((code >= 161 && code <= 165) || (code >= 181 && code <= 189)) return FOREST;
  return code >= 201 && code <= 204 ? OPEN : null;
}

/** What stands on a class; null for a code the scheme does not have. */
export function clutterOf(scheme: LandCoverScheme, code: number): Clutter | null {
  if (scheme === "nlcd") return NLCD[code] ?? null;
  return scheme === "corine" ? corine(code) : fbfm40(code);
}

export interface CoverLayers {
  /** Height of houses above ground; NaN where the class is unknown. */
  housesM: Float32Array;
  treesM: Float32Array;
  warnings: SceneWarning[];
}

/** Representative heights on the grid from class codes. */
export function coverHeights(codes: Float32Array, grid: Grid, scheme: LandCoverScheme): CoverLayers {
  const n = grid.cols * grid.rows;
  const housesM = new Float32Array(n);
  const treesM = sharedHeights(n);
  const strange = new Map<number, number>();
  const known = new Map<number, Clutter | null>();
  let voids = 0;
  for (let i = 0; i < n; i++) {
    const code = codes[i]!;
    if (Number.isNaN(code)) {
      voids++;
      housesM[i] = Number.NaN;
      continue;
    }
    let clutter = known.get(code);
    if (clutter === undefined) {
      clutter = clutterOf(scheme, code);
      known.set(code, clutter);
    }
    if (clutter === null) {
      strange.set(code, (strange.get(code) ?? 0) + 1);
      housesM[i] = Number.NaN;
      continue;
    }
    housesM[i] = clutter.houseM;
    treesM[i] = clutter.treeM;
  }
  const warnings: SceneWarning[] = [
    {
      code: "terrain.land-cover-heights",
      text: "Houses and trees stand at representative heights of their land-cover class (suburban 10 m, urban and forest 15 m, dense urban 20 m; Rec. ITU-R P.1812): real ones differ.",
    },
  ];
  if (strange.size > 0) {
    const share = [...strange.values()].reduce((a, b) => a + b, 0) / n;
    warnings.push({
      code: "terrain.land-cover-unknown-class",
      text: `Class codes ${[...strange.keys()].slice(0, 8).join(", ")} are not in the scheme ${scheme}; what stands on ${(share * 100).toFixed(1)} % of the grid is unknown.`,
    });
  }
  if (voids / n > 0.001)
    warnings.push({
      code: "terrain.land-cover-void",
      text: `The land cover is unknown on ${((100 * voids) / n).toFixed(1)} % of the working grid.`,
    });
  return { housesM, treesM, warnings };
}
