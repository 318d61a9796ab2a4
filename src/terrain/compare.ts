import { HardstandError } from "../errors/index.ts";
import { openSquare } from "./ground-filter.ts";
import type { Grid, SceneWarning } from "./scene.ts";

/** International feet in a metre. */
const FEET_PER_METRE = 1 / 0.3048;

function quantile(sorted: Float64Array, q: number): number {
  return sorted[Math.min(sorted.length - 1, Math.max(0, Math.round(q * (sorted.length - 1))))]!;
}

/** At most so many cells with both heights, evenly spread. */
function pairs(a: Float32Array, b: Float32Array, most = 200_000): { a: Float64Array; b: Float64Array } {
  const step = Math.max(1, Math.floor(a.length / most));
  const keep: number[] = [];
  for (let i = 0; i < a.length; i += step) if (!Number.isNaN(a[i]!) && !Number.isNaN(b[i]!)) keep.push(i);
  return { a: Float64Array.from(keep, (i) => a[i]!), b: Float64Array.from(keep, (i) => b[i]!) };
}

/** Width of the band in which differences count as the same, m: bare ground repeats to this, treetops do not. */
const BAND_M = 0.4;

/** Share and middle of the band that holds most differences. */
function densest(sorted: Float64Array): { atM: number; share: number } {
  let best = 0;
  let at = 0;
  for (let i = 0, j = 0; i < sorted.length; i++) {
    while (j < sorted.length && sorted[j]! <= sorted[i]! + BAND_M) j++;
    if (j - i > best) {
      best = j - i;
      at = sorted[i + Math.floor((j - i) / 2)]!;
    }
  }
  return { atM: at, share: best / sorted.length };
}

const m = (v: number): string => `${v.toFixed(1)} m`;

function stop(message: string, received: string, hint: string): never {
  throw new HardstandError("terrain.units-disagree", message, {
    where: "terrain.ground, terrain.surface",
    received,
    hint,
  });
}

/**
 * Compares ground with surface where both are known: feet taken for metres (a ratio near 3.28), a constant offset
 * (ellipsoid for sea level), or a surface below the ground stop with both numbers (terrain.units-disagree).
 * @returns warnings for what is merely odd: a surface without anything on it, ground above the surface here and there
 * Bare ground on some of the area is enough: the lower tenth of the ratios and the densest difference are looked at.
 */
export function compareGroundSurface(groundM: Float32Array, surfaceM: Float32Array): SceneWarning[] {
  const both = pairs(groundM, surfaceM);
  const n = both.a.length;
  if (n < 50) return [];
  const ground = both.a.slice().sort();
  const surface = both.b.slice().sort();
  const [gMid, sMid] = [quantile(ground, 0.5), quantile(surface, 0.5)];
  const numbers = `ground ${m(gMid)}, surface ${m(sMid)} in the middle of their range`;
  if (Math.abs(gMid) > 15) {
    const ratio = both.a.map((g, i) => both.b[i]! / g).sort();
    for (const q of [0.1, 0.5])
      for (const [factor, which, other] of [
        [FEET_PER_METRE, "surface", "ground"],
        [1 / FEET_PER_METRE, "ground", "surface"],
      ] as const)
        if (Math.abs(quantile(ratio, q) / factor - 1) < 0.015)
          stop(
            `${which} and ${other} heights differ by the factor of feet to metres`,
            `${numbers}; ratio ${quantile(ratio, q).toFixed(3)}`,
            `the ${which} looks like feet: write {"file": "…", "unit": "ft"} for it in the plan`,
          );
  }
  const gap = both.a.map((g, i) => both.b[i]! - g).sort();
  const nearZero = gap.filter((d) => Math.abs(d) < 1).length / n;
  const band = densest(gap);
  if (Math.abs(band.atM) > 3 && band.share > 0.25 && nearZero < 0.02)
    stop(
      "surface and ground are a constant height apart",
      `${numbers}; ${Math.round(band.share * 100)} % of cells are ${m(band.atM)} apart, ${(nearZero * 100).toFixed(1)} % less than 1 m`,
      "one of them is above the ellipsoid or in another datum: declare verticalDatum for each raster",
    );
  if (quantile(gap, 0.9) < -1)
    stop(
      "the surface lies below the ground",
      `${numbers}`,
      "are ground and surface exchanged, or of different places or datums?",
    );
  const warnings: SceneWarning[] = [];
  if (quantile(gap, 0.02) > 3)
    warnings.push({
      code: "terrain.offset-suspected",
      text: `The surface is ${m(quantile(gap, 0.02))} or more above the ground nearly everywhere: closed forest, or two vertical datums. Declare verticalDatum for both.`,
    });
  const below = gap.filter((d) => d < -1).length / n;
  if (below > 0.01)
    warnings.push({
      code: "terrain.surface-below-ground",
      text: `The surface lies more than 1 m below the ground on ${(below * 100).toFixed(1)} % of the area; the ground is used there.`,
    });
  if (quantile(gap, 0.995) < 0.3)
    warnings.push({
      code: "terrain.surface-bare",
      text: "The surface raster has nothing standing on the ground: it may be a second bare-earth raster.",
    });
  return warnings;
}

/**
 * Whether a "ground" has things standing on it. Needs a posting of 5 m or finer.
 * @param inFootprint  non-zero where a building stands; null without buildings
 * @returns a warning with numbers, or none
 */
export function groundLooksLikeSurface(
  groundM: Float32Array,
  grid: Grid,
  inFootprint: Uint16Array | null,
): SceneWarning[] {
  if (grid.cellM > 5) return [];
  const half = Math.max(1, Math.ceil(15 / grid.cellM));
  const opened = openSquare(groundM, grid.cols, grid.rows, half);
  let known = 0;
  let high = 0;
  let inside = 0;
  let insideHigh = 0;
  for (let r = 0; r < grid.rows; r++)
    for (let c = 0; c < grid.cols; c++) {
      const i = r * grid.cols + c;
      const rise = groundM[i]! - opened[i]!;
      if (Number.isNaN(rise)) continue;
      known++;
      const built = inFootprint !== null && inFootprint[i] !== 0;
      if (built) inside++;
      if (rise <= 2.5) continue;
      if (built) insideHigh++;
      // A wall drops by two metres within a cell or two; a bank of earth of that height does not.
      const reach = Math.max(1, Math.round(1 / grid.cellM));
      const east = c + reach < grid.cols ? groundM[i + reach]! : Number.NaN;
      const south = r + reach < grid.rows ? groundM[i + reach * grid.cols]! : Number.NaN;
      const west = c >= reach ? groundM[i - reach]! : Number.NaN;
      const north = r >= reach ? groundM[i - reach * grid.cols]! : Number.NaN;
      const drop = Math.max(...[east, south, west, north].map((z) => (Number.isNaN(z) ? 0 : groundM[i]! - z)));
      if (drop > 2 * Math.max(1, reach * grid.cellM)) high++;
    }
  if (inside > 30 && insideHigh / inside > 0.5)
    return [
      {
        code: "terrain.ground-has-buildings",
        text: `The ground raster stands more than 2.5 m high on ${Math.round((insideHigh / inside) * 100)} % of the building footprints: it looks like a surface. Name it under "surface".`,
      },
    ];
  if (known > 1000 && high / known > 0.01)
    return [
      {
        code: "terrain.ground-looks-like-surface",
        text: `The ground raster has steep-sided objects on ${((high / known) * 100).toFixed(1)} % of the area: it looks like a surface, with trees and buildings in it. If it is one, name it under "surface".`,
      },
    ];
  return [];
}

/** Open global elevation sets that are radar or photogrammetric surfaces: trees and buildings are partly in them. */
const SURFACE_SETS = /srtm|aster|aw3d|alos|cop(ernicus)?[-_]?(dem|glo)|nasadem|tandem|dsm/i;

/** Warns where a raster named as ground bears the name of a set that is a surface, or the shape of an SRTM tile. */
export function knownSurfaceSets(files: readonly string[]): SceneWarning[] {
  return files
    .filter((f) => SURFACE_SETS.test(f) || /(^|\/)[NS]\d{2}[EW]\d{3}\.(hgt|zip)/i.test(f))
    .map((f) => ({
      code: "terrain.ground-is-surface-set",
      text: `${f}, named as ground, looks like one of the global sets that hold the tops of trees and buildings in part; heights of antennas above it may be wrong by those.`,
    }));
}
