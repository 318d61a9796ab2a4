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
 * Steps in height along the lines where one file's heights give way to another's: between the third cells on either side
 * (the two nearest are blended by resampling), less what the slope on both sides makes.
 */
export function measureSeams(
  heightsM: Float32Array,
  source: Uint8Array,
  grid: Grid,
  rasters: readonly RasterHandle[],
): Seam[] {
  const steps = new Map<number, number[]>();
  const { cols, rows } = grid;
  const across = (i: number, ahead: number, room: boolean) => {
    const a = source[i]!;
    const b = source[i + ahead]!;
    if (a === b || a === 0 || b === 0 || !room) return;
    if (source[i - 2 * ahead] !== a || source[i + 3 * ahead] !== b) return;
    const z = (k: number) => heightsM[i + k * ahead]!;
    const slope = (z(-1) - z(-2) + z(3) - z(2)) / 2;
    const step = z(2) - z(-1) - 3 * slope;
    const key = Math.min(a, b) * 256 + Math.max(a, b);
    const list = steps.get(key) ?? [];
    list.push(a < b ? step : -step);
    steps.set(key, list);
  };
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < cols; c++) {
      const i = r * cols + c;
      if (c + 1 < cols) across(i, 1, c > 1 && c + 3 < cols);
      if (r + 1 < rows) across(i, cols, r > 1 && r + 3 < rows);
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
