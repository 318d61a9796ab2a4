/**
 * Visible or not by a march along the exact straight line: bilinear surface, half-cell steps, Earth curvature by the
 * effective radius. Shares nothing with the sweep. Samples within half a cell of either end's cell do not count.
 */
export function oracleVisible(
  terrain: { cols: number; rows: number; cellM: number; groundM: Float32Array; obstacleM: Float32Array },
  eye: { col: number; row: number; eyeAmslM: number; targetHeightM: number },
  radiusKm: number,
  col: number,
  row: number,
): boolean {
  const { cols, cellM, groundM, obstacleM, rows } = terrain;
  const length = Math.hypot(col - eye.col, row - eye.row);
  const steps = Math.ceil(length * 2);
  const end = groundM[row * cols + col]! + eye.targetHeightM;
  const totalM = length * cellM;
  for (let i = 1; i < steps; i++) {
    const t = i / steps;
    const x = eye.col + (col - eye.col) * t;
    const y = eye.row + (row - eye.row) * t;
    const nearest = Math.round(y) * cols + Math.round(x);
    if (nearest === row * cols + col || nearest === eye.row * cols + eye.col) continue;
    const c = Math.min(Math.floor(x), cols - 2);
    const r = Math.min(Math.floor(y), rows - 2);
    const [fx, fy] = [x - c, y - r];
    const at = (dc: number, dr: number) => obstacleM[(r + dr) * cols + c + dc]!;
    const height = (at(0, 0) * (1 - fx) + at(1, 0) * fx) * (1 - fy) + (at(0, 1) * (1 - fx) + at(1, 1) * fx) * fy;
    const d = t * totalM;
    const line = eye.eyeAmslM + (end - eye.eyeAmslM) * t - (d * (totalM - d)) / (2 * radiusKm * 1000);
    if (height > line) return false;
  }
  return true;
}
