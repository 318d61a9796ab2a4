import type { SweepTerrain } from "../../src/coverage/index.ts";

/** Builds a grid from a formula of column and row. */
export function terrainOf(
  cols: number,
  rows: number,
  cellM: number,
  ground: (col: number, row: number) => number,
  obstacle?: (col: number, row: number) => number,
): SweepTerrain {
  const fill = (height: (col: number, row: number) => number) => {
    const values = new Float32Array(cols * rows);
    for (let row = 0; row < rows; row++)
      for (let col = 0; col < cols; col++) values[row * cols + col] = height(col, row);
    return values;
  };
  const groundM = fill(ground);
  return { cols, rows, cellM, groundM, obstacleM: obstacle ? fill(obstacle) : groundM };
}

/** Seeded noise: the same numbers on every machine (linear congruential, Numerical Recipes constants). */
export function noise(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

/** Rugged ground: smooth hills and seeded roughness. */
export function ruggedTerrain(
  cols: number,
  rows: number,
  cellM: number,
  seed: number,
  obstacles = false,
): SweepTerrain {
  const random = noise(seed);
  const hill = (c: number, r: number) =>
    300 + 80 * Math.sin(c / 11) * Math.cos(r / 9) + 40 * Math.sin((c + 2 * r) / 5) + 12 * random();
  const terrain = terrainOf(cols, rows, cellM, hill);
  if (!obstacles) return terrain;
  const obstacleM = terrain.groundM.map((h) => (random() < 0.1 ? h + 5 + 20 * random() : h));
  return { ...terrain, obstacleM };
}
