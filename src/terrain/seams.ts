import type { RasterHandle } from "./raster.ts";
import type { Grid, SceneWarning } from "./scene.ts";

export interface Seam {
  files: [string, string];
  /** Length of the common edge, m. */
  lengthM: number;
  /** Middle of the step across it, second less first, slope taken off, m. */
  medianStepM: number;
  /** 95th percentile of its size, m. */
  p95StepM: number;
}

/** Accuracy of one height where a raster states none, m: one fiftieth of its posting, at least 0.3. */
const statedSdM = (r: RasterHandle): number => r.heightSdM ?? Math.max(0.3, Math.max(...r.cellM) / 50);

/**
 * Steps in height along the lines where one file's heights give way to another's.
 * The step between two neighbouring cells is what is left after the slope on both sides is taken off.
 */
export function measureSeams(
  heightsM: Float32Array,
  source: Uint8Array,
  grid: Grid,
  rasters: readonly RasterHandle[],
): Seam[] {
  const steps = new Map<number, number[]>();
  const { cols, rows } = grid;
  const across = (i: number, ahead: number, mayBack: boolean, mayAhead: boolean) => {
    const a = source[i]!;
    const b = source[i + ahead]!;
    if (a === b || a === 0 || b === 0) return;
    const before = mayBack && source[i - ahead] === a ? heightsM[i]! - heightsM[i - ahead]! : Number.NaN;
    const after =
      mayAhead && source[i + 2 * ahead] === b ? heightsM[i + 2 * ahead]! - heightsM[i + ahead]! : Number.NaN;
    const slope = Number.isNaN(before) ? after : Number.isNaN(after) ? before : (before + after) / 2;
    const step = heightsM[i + ahead]! - heightsM[i]! - (Number.isNaN(slope) ? 0 : slope);
    const key = Math.min(a, b) * 256 + Math.max(a, b);
    const list = steps.get(key) ?? [];
    list.push(a < b ? step : -step);
    steps.set(key, list);
  };
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < cols; c++) {
      const i = r * cols + c;
      if (c + 1 < cols) across(i, 1, c > 0, c + 2 < cols);
      if (r + 1 < rows) across(i, cols, r > 0, r + 2 < rows);
    }
  return [...steps].map(([key, list]) => {
    const sorted = Float64Array.from(list).sort();
    const sizes = sorted.map(Math.abs).sort();
    return {
      files: [rasters[Math.floor(key / 256) - 1]!.file, rasters[(key % 256) - 1]!.file],
      lengthM: list.length * grid.cellM,
      medianStepM: sorted[Math.floor(sorted.length / 2)]!,
      p95StepM: sizes[Math.floor(0.95 * (sizes.length - 1))]!,
    };
  });
}

/** Warnings for seams whose middle step exceeds three times the stated accuracy of the two files together. */
export function seamWarnings(seams: readonly Seam[], rasters: readonly RasterHandle[]): SceneWarning[] {
  return seams.flatMap((seam) => {
    const [a, b] = seam.files.map((f) => statedSdM(rasters.find((r) => r.file === f)!)) as [number, number];
    const limit = 3 * Math.hypot(a, b);
    if (seam.lengthM < 1 || Math.abs(seam.medianStepM) <= limit) return [];
    return [
      {
        code: "terrain.seam-step",
        text: `Where ${seam.files[0]} meets ${seam.files[1]} (${Math.round(seam.lengthM)} m long) heights step by ${seam.medianStepM.toFixed(1)} m, more than ${limit.toFixed(1)} m (three times their accuracy).`,
      },
    ];
  });
}
