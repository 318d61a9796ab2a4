/** Seeded numbers in [0, 1): mulberry32 (T. Ettinger, public domain). The same seed gives the same ground for ever. */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** Smooth noise in −1…1 with the given wavelength, m: random values on a lattice, joined by cubic curves. */
export function smoothNoise(seed: number, wavelengthM: number): (x: number, y: number) => number {
  const at = (i: number, j: number): number =>
    seeded(seed ^ Math.imul(i, 374_761_393) ^ Math.imul(j, 668_265_263))() * 2 - 1;
  // Lattice values by row and column, made when first asked for; rasters here have no negative places beyond −8.
  const wide = 512;
  const lattice = new Float64Array(wide * wide).fill(Number.NaN);
  const value = (i: number, j: number): number => {
    const key = (j + 8) * wide + i + 8;
    if (Number.isNaN(lattice[key]!)) lattice[key] = at(i, j);
    return lattice[key]!;
  };
  const ease = (t: number): number => t * t * (3 - 2 * t);
  return (x, y) => {
    const [u, v] = [x / wavelengthM, y / wavelengthM];
    const [i, j] = [Math.floor(u), Math.floor(v)];
    const [fx, fy] = [ease(u - i), ease(v - j)];
    const top = value(i, j) * (1 - fx) + value(i + 1, j) * fx;
    const bottom = value(i, j + 1) * (1 - fx) + value(i + 1, j + 1) * fx;
    return top * (1 - fy) + bottom * fy;
  };
}
